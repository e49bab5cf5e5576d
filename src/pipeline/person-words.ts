import { type ProblemCode, ProblemError } from '../model/problem.js'

/**
 * What a person said for the record: one line of plain text (NFC; control and format signs and runs of space become one space).
 * @param what how the text is called in the problem: "the reason"
 * @param longest characters at most
 * @throws ProblemError `code` for an empty or a longer text
 */
export function personWords(code: ProblemCode, what: string, text: string, longest: number): string {
  const plain = text
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cf}\u2028\u2029\s]+/gu, ' ')
    .trim()
  if (plain === '') throw new ProblemError(code, `${what} is empty`)
  if (plain.length > longest)
    throw new ProblemError(code, `${what} must have at most ${longest} characters; it has ${plain.length}`)
  return plain
}
