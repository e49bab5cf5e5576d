import { ProblemError } from '../model/problem.js'

/** Names some file systems keep for devices, whatever follows the dot. */
const RESERVED = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i
const LONGEST = 64

/**
 * Refuses a scanner name that could not be a file name everywhere: letters, digits, dot, dash and single underscores,
 * 1 to 64 characters, beginning with a letter or digit and not ending in a dot. Two underscores together part name and setting.
 * @throws ProblemError SCANNER_NAME_INVALID
 */
export function checkScannerName(name: string): void {
  const fits =
    typeof name === 'string' &&
    name.length <= LONGEST &&
    /^[A-Za-z0-9][A-Za-z0-9._-]*$/.test(name) &&
    !name.endsWith('.') &&
    !name.includes('__') &&
    !name.includes('..') &&
    !RESERVED.test(name)
  if (!fits) throw new ProblemError('SCANNER_NAME_INVALID', JSON.stringify(String(name).slice(0, 80)))
}
