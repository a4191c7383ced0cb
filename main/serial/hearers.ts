import type { OpenPort } from './port.ts'

/** Whoever listens to a port. A listener that throws is the listener's mistake, and takes nobody else down. */
export class Hearers {
  readonly #octets = new Set<(octets: Uint8Array) => void>()
  readonly #lost = new Set<(why: string) => void>()
  /** While it is above 0, what arrives is forgotten. */
  deaf = 0
  why: string | undefined

  readonly onOctets: OpenPort['onOctets'] = hear => {
    this.#octets.add(hear)
    return () => this.#octets.delete(hear)
  }

  readonly onLost: OpenPort['onLost'] = hear => {
    const { why } = this
    if (why !== undefined) queueMicrotask(() => hear(why))
    this.#lost.add(hear)
    return () => this.#lost.delete(hear)
  }

  tell(octets: Uint8Array): void {
    if (this.deaf > 0) return
    for (const hear of [...this.#octets]) hear(octets)
  }

  /** The first reason counts. */
  lose(why: string): void {
    if (this.why !== undefined) return
    this.why = why
    for (const hear of [...this.#lost]) hear(why)
  }

  /** Nobody is told anything any more. */
  end(): void {
    this.#octets.clear()
    this.#lost.clear()
  }
}
