import type { DialectInput } from '../../../shared/dialect/schema.ts'

/** A small dialect to begin with: one octet to wake it, blocks with number and sum, one octet as an answer. */
const start: DialectInput = {
  format: 'preflash-dialect',
  formatVersion: 1,
  name: 'my-loader',
  title: 'My loader',
  source: { text: 'the document that this is made from, with its section', date: 'its date' },
  line: { baud: [57_600], duplex: 'full' },
  block: { octets: 64, firstNumber: 0 },
  timings: { answer: { ms: 200 } },
  retries: { request: 4, attempts: 2, pauseMs: 2500 },
  checks: { sum: { kind: 'sum', width: 8 } },
  replies: {
    yes: { octets: '06', means: 'ok' },
    again: { octets: '15', means: 'again', text: 'it did not arrive well' },
  },
  enter: [
    { do: 'send', parts: [{ part: 'octets', hex: '55' }] },
    { do: 'expect', replies: ['yes'], within: 'answer' },
  ],
  write: {
    block: [
      {
        do: 'request',
        what: 'block',
        steps: [
          {
            do: 'send',
            parts: [
              { part: 'octets', hex: '57' },
              { part: 'number', of: 'block', size: 2 },
              { part: 'data' },
              { part: 'check', use: 'sum' },
            ],
          },
          { do: 'expect', replies: ['yes', 'again'], within: 'answer' },
        ],
      },
    ],
  },
}

export const NEW_DIALECT = `${JSON.stringify(start, null, 2)}\n`
