/** What is said to people of a message that did not get through at once: its plain name, why, and which try that is. */

/** Nothing came back, something that makes no sense, or the receiver did not get it well and asks for it once more. */
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
      return `${capital(message)} did not get through: the receiver asked for it again ${tryOf}.`
    case 'nothing':
      return `${capital(message)} was not answered and is sent again ${tryOf}.`
    case 'wrong':
      return `The answer to ${message} could not be understood, so it is sent again ${tryOf}.`
  }
}

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
