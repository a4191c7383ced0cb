import { dice } from '../sim/dice.ts'
import type { SymptomId } from './report.ts'

/** How people tell at the counter what they have seen: in their own words, and without knowing what matters. */
const sayings: Readonly<Record<SymptomId, readonly string[]>> = {
  'card-not-seen': [
    'I put the file on the card just as I was told. The radio says there is nothing there.',
    'My radio cannot open the card with the new firmware on it, or it cannot find it. I am not sure which.',
  ],
  dead: [
    'There is no light on the receiver at all. I only wanted to update it.',
    'It is dead. I plug it in and nothing happens, no light, nothing.',
  ],
  'not-offered': [
    'A friend updates his without any cable. My radio does not even show me that.',
    'I have looked through every page of the radio: it does not let me update this receiver through the air.',
  ],
  'not-found': [
    'The radio searches and searches, and in the end it says that there is no receiver.',
    'I can start the wireless update, but my receiver never turns up in the list.',
  ],
  'no-answer': [
    'I have it on the cable, I press start, and nothing comes back.',
    'The radio waits for the receiver on the cable, and then it gives up.',
  ],
  'write-refused': [
    'It begins, and at once it says no. I do not think that it wrote anything.',
    'The radio finds the receiver, but then the update is refused straight away.',
  ],
  stops: [
    'The bar runs for a while, and then it stops. It never gets to the end.',
    'It had got some way through when it broke off. Did I lose my receiver?',
  ],
  'verify-fails': [
    'It runs right to the end, and then it says that the check failed.',
    'It wrote everything, but afterwards it says what it wrote is wrong.',
  ],
  'no-bind': [
    'The update went through, the receiver lights up, but the radio does not move anything any more.',
    'Since the update it does not want to bind. Before, it did.',
  ],
  'no-telemetry': [
    'It flies, but the radio has not shown me a single voltage since the update.',
    'All the servos work. But nothing comes back: no telemetry, on no page.',
  ],
  'short-range': [
    'Since the update, the range check fails after a few steps.',
    'Fifty steps away it already twitches. That was better before the update.',
  ],
}

/** @returns one or two sentences; the same for the same number */
export function customerSays(symptom: SymptomId, seed: number): string {
  const ways = sayings[symptom]
  return ways[Math.floor(dice(seed, 'customer').between(0, ways.length))]
}
