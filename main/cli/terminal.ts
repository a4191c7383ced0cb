import { createInterface, type Interface } from 'node:readline'

/** Where a conversation is held. */
export interface Streams {
  readonly stdin: NodeJS.ReadableStream
  readonly stdout: { write(text: string): unknown }
}

/** Longer lines are nobody's answer. */
const MOST_LETTERS = 200
const COLUMNS = 90

/** Says texts and hears lines, from a person or from a file alike. */
export class Terminal {
  readonly #streams: Streams
  readonly #isTyped: boolean
  #reader: Interface | undefined
  #lines: AsyncIterator<string> | undefined

  constructor(streams: Streams) {
    this.#streams = streams
    this.#isTyped = 'isTTY' in streams.stdin && streams.stdin.isTTY === true
  }

  /** Each text is a paragraph; it is wrapped, and what follows its first line is indented as far as its beginning. */
  say(...paragraphs: readonly string[]): void {
    for (const text of paragraphs) this.#streams.stdout.write(`${wrapped(text)}\n`)
  }

  /** @returns what was typed, in small letters and trimmed; undefined at the end of the input */
  async hear(prompt: string): Promise<string | undefined> {
    this.#streams.stdout.write(`${prompt} > `)
    if (this.#lines === undefined) {
      this.#reader = createInterface({ input: this.#streams.stdin })
      this.#lines = this.#reader[Symbol.asyncIterator]()
    }
    const { value, done } = await this.#lines.next()
    if (done) {
      this.#streams.stdout.write('\n')
      return undefined
    }
    const line = value.slice(0, MOST_LETTERS).trim().toLowerCase()
    // A terminal shows what is typed into it; of lines from elsewhere the record would not say what was answered.
    if (!this.#isTyped) this.#streams.stdout.write(`${line}\n`)
    return line
  }

  close(): void {
    this.#reader?.close()
  }
}

/** @returns lines of at most 90 letters, unless a word is longer */
export function wrapped(text: string): string {
  const indent = /^\s*(?:(?:\d+\.|-) +)?/.exec(text)?.[0].length ?? 0
  const lines: string[] = []
  let line = text.slice(0, indent)
  let isFresh = true
  for (const word of text.slice(indent).split(' ')) {
    if (!isFresh && line.length + 1 + word.length > COLUMNS) {
      lines.push(line)
      line = ' '.repeat(indent) + word
    } else line += isFresh ? word : ` ${word}`
    isFresh = false
  }
  return [...lines, line].join('\n')
}
