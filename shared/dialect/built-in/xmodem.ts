import type { DialectInput } from '../schema.ts'
import type { ExpectInput, InnerStepInput, LeafInput, RepeatInput } from '../schema-steps.ts'

/**
 * XMODEM-CRC, XMODEM-1K and YMODEM after C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, edition of
 * 18 June 1988; section numbers are of that.
 */
const source = {
  text: 'C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, A compendium of documents',
  date: '18 June 1988',
}

/** In that time a receiver that lives has spoken more than once, by its answers and by its own ten seconds. */
const SILENT_TRIES = 2

/**
 * Sections 7.3 and 7.4: ten tries, a receiver that says NAK after ten seconds of silence and one more of quiet; 8.2.1:
 * a C about every three seconds. The sender waits longer than the receiver: if both lost patience at once, a block
 * would be sent twice, and its second ACK be taken for that of the next block.
 */
const common: Omit<DialectInput, 'name' | 'title' | 'block' | 'write'> = {
  format: 'preflash-dialect',
  formatVersion: 1,
  source,
  line: { baud: [115_200, 57_600, 38_400, 19_200, 9600] },
  timings: {
    start: { ms: 60_000, note: 'section 7.3.3: about a minute; in silence it is waited for once' },
    answer: { ms: 15_000 },
    poll: { ms: 3000 },
    crossing: { ms: 1000, note: 'a receiver answers a block at once' },
    inHand: { ms: 200, note: 'a receiver answers a block at once' },
  },
  retries: { request: 10, silent: SILENT_TRIES, attempts: 2, pauseMs: 2500, receiverGapMs: 1000 },
  checks: {
    crc: { kind: 'named', name: 'CRC-16/XMODEM' },
    sum: { kind: 'sum' },
  },
  replies: {
    ack: { octets: '06', means: 'ok' },
    nak: { octets: '15', means: 'again', text: 'the receiver said NAK' },
    crcStart: { octets: '43', means: 'ok', text: 'the receiver asked for the first block again' },
    sumStart: { octets: '15', means: 'ok' },
    cancel: { octets: '18 18', means: 'stop', text: 'it cancelled' },
  },
  /**
   * Section 4.1: two cancel; eight are common. The backspaces wipe them from a terminal's line. A receiver that is
   * still busy with a block may throw away what comes behind it, as rx of lrzsz does.
   */
  leave: [
    { do: 'wait', for: 'inHand' },
    { do: 'send', parts: [{ part: 'octets', hex: '18 18 18 18 18 18 18 18 08 08 08 08 08 08 08 08' }] },
  ],
}

const answer: ExpectInput = {
  do: 'expect',
  replies: ['ack', 'nak', 'cancel'],
  within: 'answer',
  skipOthers: true,
}

/**
 * To a damaged first block a receiver says C again (common practice; rx of lrzsz does). One that it said before the
 * block had reached it looks the same, but an answer to the block follows that one, and if the block were said again,
 * its second ACK would be taken for that of the next block.
 */
const blockAnswer: ExpectInput = {
  ...answer,
  replies: ['ack', 'nak', 'crcStart', 'cancel'],
  as: { crcStart: 'again' },
  crossing: { reply: 'crcStart', within: 'crossing' },
}

/** The receiver says NAK where it wants the one-octet checksum, and C where it wants the CRC (section 8.2). */
const startOfEither: LeafInput[] = [
  {
    do: 'expect',
    replies: ['crcStart', 'sumStart', 'cancel'],
    within: 'start',
    capture: 'start',
    skipOthers: true,
    unaskedEvery: 'poll',
  },
  // A receiver that waited for long has asked more than once.
  { do: 'quiet', for: 0 },
]
const NAK = 0x15

const block = (header: '01' | '02', check: 'sum' | 'crc'): LeafInput => ({
  do: 'send',
  parts: [
    { part: 'octets', hex: header },
    { part: 'number', of: 'block', size: 1 },
    { part: 'number', of: 'block', size: 1, complement: true },
    { part: 'group', name: 'data', parts: [{ part: 'data' }] },
    { part: 'check', use: check, over: 'data' },
  ],
})

const blockOfEither = (header: '01' | '02'): InnerStepInput => ({
  do: 'when',
  of: 'capture:start',
  is: NAK,
  steps: [block(header, 'sum')],
  otherwise: [block(header, 'crc')],
})

/** Section 7.3.3: EOT until ACK. Some receivers say NAK to the first one, others do not; both are ordinary. */
const end: RepeatInput = {
  do: 'repeat',
  what: 'end of the file',
  times: 10,
  silent: SILENT_TRIES,
  steps: [{ do: 'send', parts: [{ part: 'octets', hex: '04' }] }, answer],
}

export const xmodemCrc: DialectInput = {
  ...common,
  name: 'xmodem-crc',
  title: 'XMODEM-CRC',
  block: { octets: 128, pad: 0x1a, multiple: 128, firstNumber: 1 },
  write: {
    before: startOfEither,
    block: [{ do: 'request', what: 'block', steps: [blockOfEither('01'), blockAnswer] }],
    after: [end],
  },
}

/** Blocks of 1024 octets, and of 128 for a rest of up to seven of them, as is common practice. */
const blocksOf1k = {
  octets: 1024,
  pad: 0x1a,
  multiple: 128,
  firstNumber: 1,
  short: { octets: 128, upTo: 896 },
}

export const xmodem1k: DialectInput = {
  ...common,
  name: 'xmodem-1k',
  title: 'XMODEM-1K',
  block: blocksOf1k,
  write: {
    before: startOfEither,
    block: [
      {
        do: 'request',
        what: 'block',
        steps: [
          {
            do: 'when',
            of: 'length',
            is: 1024,
            steps: [blockOfEither('02')],
            otherwise: [blockOfEither('01')],
          },
          blockAnswer,
        ],
      },
    ],
    after: [end],
  },
}

const startOfCrc: ExpectInput = {
  do: 'expect',
  replies: ['crcStart', 'cancel'],
  within: 'start',
  skipOthers: true,
  unaskedEvery: 'poll',
}

/** Section 5: block number 0 with the name, NUL, the length in decimal; an empty name ends the session. */
const header: LeafInput = {
  do: 'send',
  parts: [
    { part: 'octets', hex: '01 00 FF' },
    {
      part: 'group',
      name: 'header',
      parts: [
        { part: 'text', of: 'fileName' },
        { part: 'octets', hex: '00' },
        { part: 'text', of: 'imageLength' },
      ],
      fillTo: 128,
    },
    { part: 'check', use: 'crc', over: 'header' },
  ],
}
const closing: LeafInput = {
  do: 'send',
  parts: [
    { part: 'octets', hex: '01 00 FF' },
    { part: 'group', name: 'header', fillTo: 128 },
    { part: 'check', use: 'crc', over: 'header' },
  ],
}

export const ymodem: DialectInput = {
  ...common,
  name: 'ymodem',
  title: 'YMODEM',
  block: blocksOf1k,
  write: {
    before: [startOfCrc, { do: 'request', what: 'file name', steps: [header, blockAnswer] }, startOfCrc],
    block: [
      {
        do: 'request',
        what: 'block',
        steps: [
          {
            do: 'when',
            of: 'length',
            is: 1024,
            steps: [block('02', 'crc')],
            otherwise: [block('01', 'crc')],
          },
          blockAnswer,
        ],
      },
    ],
    // It asks for the closing block at once, for there is nothing more to store.
    after: [
      end,
      { ...startOfCrc, within: 'answer' },
      { do: 'request', what: 'closing block', steps: [closing, answer] },
    ],
  },
}
