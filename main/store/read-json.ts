import { parseJson } from '../../shared/model/parse-json.ts'
import { ProblemError } from '../../shared/model/problem.ts'

/**
 * The text of a file that this program has written itself. Another program may have written into it since, so it is
 * bounded in depth as files from outside are.
 * @param text whose size is bounded already
 * @throws ProblemError `file.not-json` that names file and line
 */
export function readJson(text: string, file: string): unknown {
  const parsed = parseJson(text)
  if (parsed.ok) return parsed.value
  throw new ProblemError({
    code: 'file.not-json',
    file,
    ...(parsed.line === undefined ? {} : { line: parsed.line }),
    message: `The file cannot be read: ${parsed.why}.`,
    expected: 'a file as Preflash has written it',
    remedy: 'Mend this line with a text editor, or put the file aside: it is then made anew.',
  })
}
