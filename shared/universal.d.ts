/**
 * The few globals beyond the language that shared/ may use, because browsers and Node have the same ones and they
 * are pure. Everything else of the DOM and of Node is unknown to the type check of this folder.
 */
declare class TextEncoder {
  encode(text?: string): Uint8Array<ArrayBuffer>
}
declare class TextDecoder {
  constructor(label?: string, options?: { fatal?: boolean; ignoreBOM?: boolean })
  decode(octets?: Uint8Array | ArrayBuffer): string
}
declare function structuredClone<T>(value: T): T
