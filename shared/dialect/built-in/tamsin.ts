import type { DialectInput } from '../schema.ts'
import type { ExpectInput, LeafInput } from '../schema-steps.ts'

/**
 * Two serial boot loaders of the invented maker Tamsin, as its demo documentation describes them. They are here to
 * show that a maker's documented loader is data and nothing else.
 */
type SendInput = Extract<LeafInput, { do: 'send' }>
const send = (parts: SendInput['parts']): SendInput => ({ do: 'send', parts })
const byCommand = (hex: string) => ({ part: 'octets', hex }) as const

const dartAnswer: ExpectInput = {
  do: 'expect',
  replies: ['done', 'again', 'refused', 'busy'],
  within: 'answer',
}

/** One wire, frames of A5, length, body and CRC; after a break it listens for three sync octets. */
export const tamsinDart: DialectInput = {
  format: 'preflash-dialect',
  formatVersion: 1,
  name: 'tamsin-dart',
  title: 'Tamsin Dart loader',
  source: { text: 'Tamsin Dart service notes (demo), chapter 4', date: '2026-03' },
  notes: 'One signal wire for both ways. Invented for the demo.',
  line: { baud: [57_600, 115_200], parity: 'none', duplex: 'half-echo' },
  block: { octets: 64, pad: 0xff, multiple: 8 },
  timings: {
    answer: { ms: 40 },
    sync: { ms: 30 },
    erase: { ms: 60, perPageMs: 60 },
    program: { ms: 60 },
    digest: { ms: 500 },
    start: { ms: 300 },
  },
  retries: { request: 4, attempts: 2, pauseMs: 2500, receiverGapMs: 50 },
  checks: {
    frame: { kind: 'named', name: 'CRC-16/IBM-3740' },
    whole: { kind: 'named', name: 'CRC-32/ISO-HDLC' },
  },
  replies: {
    sync: { octets: '5A', means: 'ok' },
    done: { octets: '80 *', means: 'ok' },
    again: { octets: 'E1', means: 'again', text: 'damaged on the way' },
    refused: { octets: 'E0 *', means: 'refused', text: 'refused' },
    busy: { octets: 'E2', means: 'wait' },
  },
  frame: {
    kind: 'start-length',
    start: 'A5',
    length: { size: 1 },
    check: { use: 'frame', over: 'length-and-body' },
    mostBody: 80,
  },
  enter: [
    { do: 'line', break: true },
    { do: 'wait', for: 20 },
    { do: 'line', break: false },
    {
      do: 'repeat',
      what: 'sync octets',
      times: 20,
      steps: [
        { do: 'send', bare: true, parts: [byCommand('55 55 55')] },
        { do: 'expect', bare: true, replies: ['sync'], within: 'sync', skipOthers: true },
      ],
    },
  ],
  identify: {
    whenRunning: true,
    steps: [
      {
        do: 'request',
        what: 'who are you',
        steps: [
          send([byCommand('01')]),
          {
            do: 'expect',
            within: 'answer',
            replies: ['again'],
            parts: [
              byCommand('81'),
              { part: 'capture', name: 'type', size: 2, says: '0D 47' },
              { part: 'capture', name: 'version', size: 3, says: { memoryAt: 16, octets: 3 } },
              { part: 'capture', name: 'loading', size: 1, says: 'inBootLoader' },
            ],
          },
        ],
      },
    ],
    fields: [
      { name: 'type', label: 'Type', show: 'hex', role: 'type' },
      { name: 'version', label: 'Firmware', show: 'dotted', role: 'version' },
      { name: 'loading', label: 'Boot loader runs', show: 'decimal', role: 'mode', running: '0' },
    ],
  },
  erase: {
    per: 'pages',
    batch: 4,
    steps: [
      {
        do: 'request',
        what: 'erase pages',
        steps: [
          send([
            byCommand('10'),
            { part: 'number', of: 'page', size: 2 },
            { part: 'number', of: 'pageCount', size: 1 },
          ]),
          { ...dartAnswer, within: 'erase' },
        ],
      },
    ],
  },
  write: {
    onRepeat: 'look',
    block: [
      {
        do: 'request',
        what: 'write',
        steps: [
          send([byCommand('20'), { part: 'number', of: 'address', size: 4 }, { part: 'data' }]),
          {
            do: 'expect',
            within: 'program',
            replies: ['again', 'refused', 'busy'],
            parts: [byCommand('A0'), { part: 'number', of: 'address', size: 4 }],
          },
        ],
      },
    ],
  },
  read: {
    octets: 64,
    steps: [
      {
        do: 'request',
        what: 'read',
        steps: [
          send([
            byCommand('21'),
            { part: 'number', of: 'address', size: 4 },
            { part: 'number', of: 'length', size: 1 },
          ]),
          {
            do: 'expect',
            within: 'answer',
            replies: ['again', 'refused'],
            parts: [byCommand('A1'), { part: 'number', of: 'address', size: 4 }, { part: 'data' }],
          },
        ],
      },
    ],
  },
  digest: {
    capture: 'digest',
    check: 'whole',
    steps: [
      {
        do: 'request',
        what: 'check what you hold',
        steps: [
          send([
            byCommand('30'),
            { part: 'number', of: 'imageAddress', size: 4 },
            { part: 'number', of: 'imageLength', size: 4 },
          ]),
          {
            do: 'expect',
            within: 'digest',
            replies: ['again', 'refused'],
            parts: [
              byCommand('B0'),
              { part: 'capture', name: 'digest', size: 4, says: { memoryCheck: 'whole' } },
            ],
          },
        ],
      },
    ],
  },
  start: [
    { do: 'request', what: 'start', steps: [send([byCommand('40')]), dartAnswer] },
    { do: 'wait', for: 'start' },
  ],
  leave: [send([byCommand('4F')])],
}

const twigAnswer: ExpectInput = { do: 'expect', replies: ['yes', 'again', 'no'], within: 'answer' }

/** Full duplex, RFC 1662 frames; DTR and RTS hold its boot pin and reset it; everything is erased at once. */
export const tamsinTwig: DialectInput = {
  format: 'preflash-dialect',
  formatVersion: 1,
  name: 'tamsin-twig',
  title: 'Tamsin Twig loader',
  source: { text: 'Tamsin Twig service notes (demo), chapter 2', date: '2026-03' },
  notes: 'Boot pin at DTR, reset at RTS. Invented for the demo.',
  line: { baud: [115_200], parity: 'none', controls: { dtr: 'boot', rts: 'reset' } },
  block: { octets: 128, pad: 0xff, multiple: 8, firstNumber: 0 },
  timings: {
    answer: { ms: 60 },
    erase: { ms: 3000 },
    program: { ms: 80 },
    reset: { ms: 10 },
    wake: { ms: 60 },
    start: { ms: 200 },
  },
  retries: { request: 4, attempts: 2, pauseMs: 2500 },
  checks: { whole: { kind: 'named', name: 'CRC-32/ISO-HDLC', order: 'little' } },
  replies: {
    yes: { octets: '06 .. *', means: 'ok' },
    again: { octets: '15 .. *', means: 'again', text: 'damaged on the way' },
    no: { octets: '1B .. *', means: 'refused', text: 'refused' },
  },
  frame: { kind: 'rfc1662' },
  enter: [
    { do: 'line', dtr: true, rts: true },
    { do: 'wait', for: 'reset' },
    { do: 'line', rts: false },
    { do: 'wait', for: 'wake' },
  ],
  identify: {
    steps: [
      {
        do: 'request',
        what: 'hello',
        steps: [
          send([byCommand('48 49')]),
          {
            do: 'expect',
            within: 'answer',
            replies: ['again'],
            parts: [
              byCommand('68 69'),
              { part: 'capture', name: 'type', size: 2, order: 'little', says: '57 54' },
              { part: 'capture', name: 'loader', size: 1, says: '02' },
            ],
          },
        ],
      },
    ],
    fields: [
      { name: 'type', label: 'Type', show: 'hex', role: 'type' },
      { name: 'loader', label: 'Boot loader', show: 'decimal' },
    ],
  },
  erase: {
    per: 'all',
    steps: [
      {
        do: 'request',
        what: 'erase',
        steps: [
          send([byCommand('45 41'), { part: 'number', of: 'imageLength', size: 4, order: 'little' }]),
          { ...twigAnswer, within: 'erase' },
        ],
      },
    ],
  },
  write: {
    block: [
      {
        do: 'request',
        what: 'block',
        steps: [
          send([
            byCommand('57'),
            { part: 'number', of: 'block', size: 2, order: 'little' },
            { part: 'data' },
          ]),
          { ...twigAnswer, within: 'program' },
        ],
      },
    ],
    after: [
      {
        do: 'request',
        what: 'make it valid',
        steps: [
          send([
            byCommand('56'),
            { part: 'number', of: 'imageCheck', check: 'whole', size: 4, order: 'little' },
          ]),
          { ...twigAnswer, within: 'erase' },
        ],
      },
    ],
  },
  start: [
    { do: 'line', dtr: false, rts: true },
    { do: 'wait', for: 'reset' },
    { do: 'line', rts: false },
    { do: 'wait', for: 'start' },
  ],
  leave: [{ do: 'line', dtr: false, rts: false }],
}
