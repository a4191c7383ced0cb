import type { Rehearsed } from '../../shared/bench-run/check.ts'
import type { LaneReport, WriteEnding } from '../../shared/bench-run/lane.ts'

/** A write as the machine tells of it, to be changed where a test cares. */

export const rehearsed: Rehearsed = {
  ...{ key: 'k', ok: true, sentence: 'It runs the new image.', simulatedMs: 10_000, attempts: 1, retries: 0 },
  steps: [
    { step: 'erase', attempt: 1, startMs: 0, endMs: 2000 },
    { step: 'write', attempt: 1, startMs: 2000, endMs: 9000 },
    { step: 'restart', attempt: 1, startMs: 9000, endMs: 10_000 },
  ],
}

export const lane = (change: Partial<LaneReport> = {}): LaneReport => ({
  ...{ lane: 'lane-1', sessionId: null, port: { key: '/dev/ttyUSB0', label: 'Red one' } },
  receiver: { id: 'wren-trainer', nickname: 'Wren in the trainer' },
  image: { name: 'Wren 6', version: '2.4.0', bytes: 262_144 },
  ...{ dialect: 'Preflash bus', step: 'write', done: 0, total: 0, octetsPerSecond: null, secondsLeft: null },
  ...{ attempt: 1, retries: 0, elapsedMs: 0, notes: [], steps: [], rehearsed, differs: [], end: null },
  ...change,
})

export const ending = (change: Partial<WriteEnding> = {}): WriteEnding => ({
  ...{ outcome: 'updated', code: null, text: '', state: 'runs-new', attempts: 1, retries: 0, seconds: 31 },
  ...{ stateWords: 'It runs the new image.', nextWords: 'Bind it again.', identity: [], backupFile: null },
  proof: { verified: 'read-back', started: true, identified: true },
  ...{ diagnosis: null, afterwards: ['Check the range.'] },
  ...change,
})
