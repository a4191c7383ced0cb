/** What is said to people of a message that did not get through at once: its plain name, why, and which try that is. */

/** Nothing came back, something that makes no sense, or the receiver said that it does not accept it. */
export type WhyAgain = 'nothing' | 'wrong' | 'again'

/** 1st, 2nd, 3rd, 4th, 11th, 21st … @param count a whole number from 1 on */
function ordinal(count: number): string {
  const isTeen = count % 100 >= 11 && count % 100 <= 13
  return `${count}${(isTeen ? undefined : ['th', 'st', 'nd', 'rd'][count % 10]) ?? 'th'}`
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1)

/**
 * @param message what is sent, as a noun phrase within a sentence: "block 43", "the order to erase"
 * @param tries the try that comes now; 2 for the first repeat
 * @param most so many tries there are at the most
 */
export function sentAgain(message: string, why: WhyAgain, tries: number, most: number): string {
  const tryOf = `(${ordinal(tries)} try of ${most})`
  switch (why) {
    case 'again':
      return `The receiver did not accept ${message}, so it is sent again ${tryOf}.`
    case 'nothing':
      return `${capital(message)} was not answered and is sent again ${tryOf}.`
    case 'wrong':
      return `The answer to ${message} could not be understood, so it is sent again ${tryOf}.`
  }
}

/**
 * The same where it is read back before anything is sent again: until then nobody knows whether that has to be.
 * @param message as of `sentAgain`, something that can lie in a memory: "block 43"
 */
export function readBackFirst(message: string, why: WhyAgain, tries: number, most: number): string {
  const look = `It is read back first, in case it is there all the same (${ordinal(tries)} try of ${most}).`
  switch (why) {
    case 'again':
      return `The receiver did not accept ${message}. ${look}`
    case 'nothing':
      return `${capital(message)} was not answered. ${look}`
    case 'wrong':
      return `What was answered to ${message} could not be understood. ${look}`
  }
}

/** What came of reading it back. */
export const readBackFound = (message: string, found: 'say-again' | 'is-done'): string =>
  found === 'is-done'
    ? `${capital(message)} is there already, so it is not sent again.`
    : `${capital(message)} is not there and is sent again.`

/** The same where there is no further try. */
export function sentInVain(message: string, why: WhyAgain): string {
  switch (why) {
    case 'again':
      return `The receiver did not take ${message}.`
    case 'nothing':
      return `The receiver gave no answer to ${message}.`
    case 'wrong':
      return `The answer to ${message} could not be understood.`
  }
}
