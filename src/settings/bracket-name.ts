/** What a file name says of the bracket its scan belongs to. */
export interface BracketName {
  /** The stem without the mark: the name of the bracket. */
  readonly bracket: string
  /** How many scans it has, when the name says so. */
  readonly of: number | null
}

const MARK = /^(.+?)__bracket-\d{1,2}(?:of(\d{1,2}))?$/i

/**
 * Scans of one film at several exposures are named `<positive>__bracket-1.tif`, `__bracket-2.tif` and so on, or
 * `__bracket-1of3.tif`, which says how many there are. The order of the numbers does not matter.
 */
export function bracketFromFileName(fileName: string): BracketName | null {
  const found = MARK.exec(stemOf(fileName).normalize('NFC'))
  if (found === null) return null
  const of = found[2] === undefined ? null : Number(found[2])
  return { bracket: found[1]!, of: of !== null && of >= 2 ? of : null }
}

/** The file name without the mark of a bracket. */
export function withoutBracketMark(fileName: string): string {
  const found = bracketFromFileName(fileName)
  return found === null ? fileName : `${found.bracket}${fileName.slice(stemOf(fileName).length)}`
}

function stemOf(fileName: string): string {
  return fileName.replace(/(?<=.)\.[^.]*$/, '')
}
