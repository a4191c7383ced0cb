import { readBackFirst, sentAgain, sentInVain, type WhyAgain } from './again-words.ts'
import type { Reply } from './boot-rom-host.ts'

/** What is said to people of the commands of ST AN3155, whose own names are for programmers. */

/** The name that AN3155 gives a command, and what it is called to people: a noun phrase within a sentence. */
export interface Asked {
  readonly command: string
  readonly name: string
  /** A repeat looks first whether it is done already. */
  readonly isLookedAt?: boolean
}
export const HELLO: Asked = { command: 'first octet', name: "the call to the chip's own loader" }
export const GET: Asked = { command: 'Get', name: 'the question what it can do' }
export const GET_ID: Asked = { command: 'Get ID', name: 'the question which chip it is' }
export const ERASE: Asked = { command: 'Erase', name: 'the order to erase' }
export const READ: Asked = { command: 'Read Memory', name: 'the request to read what it holds' }

export type NotOk = Exclude<Reply<unknown>, { got: 'ok' }>
const whyAgain = ({ got }: NotOk): WhyAgain => (got === 'nack' ? 'again' : got)

/** @param last what the try before came to; @param tries the one that comes now, of so many at the most */
export function repeatText(asked: Asked, last: NotOk, tries: number, most: number): string {
  const words = asked.isLookedAt ? readBackFirst : sentAgain
  return words(asked.name, whyAgain(last), tries, most)
}

/** Get and Get ID are allowed on a locked chip; whatever else it turns down at the very command is the lock. */
export const isLock = (asked: Asked, { got, step }: NotOk): boolean =>
  got === 'nack' && step === 'command' && asked !== GET && asked !== GET_ID

/** Where there is no further try. */
export const inVainText = (asked: Asked, reply: NotOk): string =>
  isLock(asked, reply)
    ? `The chip is read-out protected: its own loader turns down ${asked.name}. Lifting the protection erases everything in the chip, its maker's data too; that is left to the maker or a workshop.`
    : sentInVain(asked.name, whyAgain(reply))
