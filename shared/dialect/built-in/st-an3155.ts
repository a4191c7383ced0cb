import type { DialectInput } from '../schema.ts'
import type { SendPartInput } from '../schema-parts.ts'
import type { ExpectInput, LeafInput, RepeatInput } from '../schema-steps.ts'

/** Address, most significant octet first, and the exclusive-or of its octets (AN3155, section 3.1). */
const addressOf = (of: 'address' | 'startAddress'): LeafInput => ({
  do: 'send',
  parts: [
    { part: 'number', of, size: 4 },
    { part: 'check', use: 'xor' },
  ],
})
const lengthLessOne = { part: 'number', of: 'length', size: 1, plus: -1 } satisfies SendPartInput
const answer: ExpectInput = { do: 'expect', replies: ['ack', 'nack'], within: 'answer' }
const orLocked: ExpectInput = {
  ...answer,
  refusal:
    "The chip is read-out protected: its own loader turns this down. Lifting the protection erases everything in the chip, its maker's data too; that is left to the maker or a workshop.",
}
const command = (hex: string): LeafInput => ({ do: 'send', parts: [{ part: 'octets', hex }] })
const pagesOf = (size: 1 | 2): SendPartInput[] => [
  { part: 'number', of: 'pageCount', size, plus: -1 },
  { part: 'pages', size },
  { part: 'check', use: 'xor' },
]

/** Equal octets are never a command and its complement, so the chip says NACK in the end, whatever it waited for. */
const fillUp = (filler: SendPartInput): (LeafInput | RepeatInput)[] => [
  { do: 'quiet', for: 'octet' },
  {
    do: 'repeat',
    what: 'end what it waits for',
    times: 260,
    steps: [
      { do: 'send', parts: [filler] },
      { do: 'expect', replies: ['nack', 'ack'], as: { nack: 'ok', ack: 'again' }, within: 'octet' },
    ],
  },
]

/** ST AN3155, the serial protocol of the loader that ST puts into the ROM of its controllers. */
export const stAn3155: DialectInput = {
  format: 'preflash-dialect',
  formatVersion: 1,
  name: 'st-an3155',
  title: 'ST AN3155, UART boot ROM',
  source: {
    text: 'STMicroelectronics AN3155, USART protocol used in the STM32 bootloader',
    date: 'July 2025',
  },
  notes: "The chip's boot pin is held while power comes on; then its own loader waits for the first octet.",
  line: { baud: [115_200, 57_600, 38_400, 19_200, 9600, 4800, 2400, 1200], parity: 'even' },
  block: { octets: 256, pad: 0xff, multiple: 4 },
  timings: {
    answer: { ms: 60 },
    octet: { ms: 60, note: 'an answer to a single octet' },
    program: {
      ms: 60,
      perOctetMs: 0.2,
      note: 'ST DS5319 table 28 gives 70 µs for 2 octets; some parts are slower',
    },
    erase: { ms: 100, perPageMs: 500, note: 'ST DS5319 table 28 gives 40 ms for a page of 1 KB' },
  },
  retries: { request: 4, attempts: 3, pauseMs: 0 },
  checks: { xor: { kind: 'xor' } },
  replies: {
    ack: { octets: '79', means: 'ok' },
    nack: { octets: '1F', means: 'again', text: 'the chip said NACK' },
  },
  enter: [
    {
      do: 'repeat',
      what: 'first octet',
      times: 10,
      steps: [
        command('7F'),
        // A chip that was connected already takes 7F for half a command, and says NACK: as good as an ACK.
        { do: 'expect', replies: ['ack', 'nack'], as: { nack: 'ok' }, within: 'answer', skipOthers: true },
      ],
    },
  ],
  identify: {
    steps: [
      {
        do: 'request',
        what: 'Get',
        steps: [
          command('00 FF'),
          answer,
          {
            do: 'expect',
            parts: [
              { part: 'capture', name: 'count', size: 1, says: '0B' },
              { part: 'capture', name: 'loader', size: 1, says: '31' },
              {
                part: 'capture',
                name: 'commands',
                length: { of: 'capture:count' },
                says: '00 01 02 11 21 31 44 63 73 82 92',
              },
              { part: 'octets', hex: '79' },
            ],
            within: 'answer',
          },
        ],
      },
      {
        do: 'request',
        what: 'Get ID',
        steps: [
          command('02 FD'),
          answer,
          {
            do: 'expect',
            parts: [
              { part: 'capture', name: 'idCount', size: 1, says: '01' },
              { part: 'capture', name: 'chip', length: { of: 'capture:idCount', plus: 1 }, says: '04 10' },
              { part: 'octets', hex: '79' },
            ],
            within: 'answer',
          },
        ],
      },
    ],
    fields: [
      { name: 'chip', label: 'Chip', show: 'hex', role: 'type' },
      { name: 'loader', label: 'Boot ROM', show: 'hex' },
    ],
  },
  erase: {
    per: 'pages',
    batch: 16,
    steps: [
      {
        do: 'when',
        of: 'capture:commands',
        has: 0x44,
        steps: [
          {
            do: 'request',
            what: 'Extended Erase',
            steps: [
              command('44 BB'),
              orLocked,
              { do: 'send', parts: pagesOf(2) },
              { ...answer, within: 'erase' },
            ],
          },
        ],
        otherwise: [
          {
            do: 'when',
            of: 'capture:commands',
            has: 0x43,
            steps: [
              {
                do: 'request',
                what: 'Erase',
                // An octet for filling up may be taken for a page: then let it be one that is to be erased anyway.
                resynchronise: fillUp({ part: 'number', of: 'page', size: 1 }),
                steps: [
                  command('43 BC'),
                  orLocked,
                  { do: 'send', parts: pagesOf(1) },
                  { ...answer, within: 'erase' },
                ],
              },
            ],
            otherwise: [{ do: 'fail', text: "The chip's own loader has no command to erase pages." }],
          },
        ],
      },
    ],
  },
  write: {
    // Written flash must not be written again; where only the answer was lost, the block is there.
    onRepeat: 'look',
    block: [
      {
        do: 'request',
        what: 'Write Memory',
        steps: [
          command('31 CE'),
          orLocked,
          addressOf('address'),
          answer,
          { do: 'send', parts: [lengthLessOne, { part: 'data' }, { part: 'check', use: 'xor' }] },
          { ...answer, within: 'program' },
        ],
      },
    ],
  },
  read: {
    octets: 256,
    steps: [
      {
        do: 'request',
        what: 'Read Memory',
        steps: [
          command('11 EE'),
          orLocked,
          addressOf('address'),
          answer,
          { do: 'send', parts: [lengthLessOne, { ...lengthLessOne, complement: true }] },
          answer,
          { do: 'expect', parts: [{ part: 'data' }], within: 'answer' },
        ],
      },
    ],
  },
  start: [
    {
      do: 'request',
      what: 'Go',
      tries: 1,
      steps: [command('21 DE'), answer, addressOf('startAddress'), answer],
    },
  ],
  resynchronise: fillUp({ part: 'octets', hex: 'FF' }),
}
