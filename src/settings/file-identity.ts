import { ProblemError } from '../model/problem.js'
import { nearestName } from './nearest-name.js'

/** Longest name of a positive, characters. */
export const LONGEST_POSITIVE_NAME = 120

/** Names Windows shares keep for devices; a report of that name could not be written there. */
const DEVICE_NAME = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i

/**
 * What is wrong with the name of a positive, or null. The name becomes a file name and stands on pages, so: letters,
 * digits, spaces, `. - _ + , ( )` only, no dot or space at either end, 1 to 120 characters, no device name.
 */
export function positiveNameFault(name: string): string | null {
  if (!(name.length >= 1)) return 'is empty'
  if (!(name.length <= LONGEST_POSITIVE_NAME)) return `has ${name.length} characters, at most ${LONGEST_POSITIVE_NAME}`
  if (/[/\\]/.test(name)) return 'holds a path'
  if (/\p{C}/u.test(name)) return 'holds control characters'
  if (/[<>&"'`]/.test(name)) return 'holds markup'
  if (!/^[\p{L}\p{M}\p{N} ._+,()-]+$/u.test(name)) return 'holds other characters'
  if (/^[. ]|[. ]$/.test(name)) return 'begins or ends with a dot or a space'
  if (DEVICE_NAME.test(name)) return 'is a device name on Windows'
  return null
}

/**
 * The name of a positive, checked; letters with accents in their composed form, so that one name is one positive.
 * @throws ProblemError POSITIVE_NAME_INVALID with the name and what is wrong with it
 */
export function checkPositiveName(name: string): string {
  const composed = name.normalize('NFC')
  const fault = positiveNameFault(composed)
  if (fault === null) return composed
  const shown = composed.replace(/\p{C}+/gu, ' ').slice(0, 60)
  throw new ProblemError('POSITIVE_NAME_INVALID', `"${shown}" (it ${fault})`)
}

/**
 * Which positive a scan's file name says it is: by the site's pattern, else the whole stem.
 * @param pattern as in burngate.yaml, e.g. `<positive>[__<anything>].<ext>`: `<positive>` is the shortest text that
 *   fits, `[...]` may be missing, everything else stands for itself
 * @param fileName the last part of the path, with its extension
 * @throws ProblemError POSITIVE_NAME_INVALID when the name found cannot be one; SETTINGS_INVALID for a bad pattern
 */
export function positiveFromFileName(
  pattern: string,
  fileName: string,
): { readonly positive: string; readonly from: 'fileName' | 'stem' } {
  const compiled = compileFileNamePattern(pattern)
  if ('fault' in compiled) throw new ProblemError('SETTINGS_INVALID', `fileName is "${pattern}"; ${compiled.fault}`)
  const found = compiled.expression.exec(fileName.normalize('NFC'))?.groups?.positive
  if (found !== undefined) return { positive: checkPositiveName(found), from: 'fileName' }
  return { positive: checkPositiveName(fileName.replace(/(?<=.)\.[^.]*$/, '')), from: 'stem' }
}

const PLACEHOLDERS = ['positive', 'anything', 'ext'] as const

/** Most `<anything>` in one pattern: each more multiplies the ways a long name can be split. */
const MOST_ANYTHING = 3

/** A file-name pattern as a regular expression with a group `positive`, or what is wrong with it. */
export function compileFileNamePattern(pattern: string): { readonly expression: RegExp } | { readonly fault: string } {
  let source = ''
  let open = false
  const count = { positive: 0, anything: 0, ext: 0 }
  for (const [token] of pattern.matchAll(/<[^<>]*>|[\s\S]/g)) {
    if (token.length > 1) {
      const name = token.slice(1, -1)
      const known = PLACEHOLDERS.find(p => p === name)
      if (known === undefined) {
        const near = nearestName(name, PLACEHOLDERS)
        return {
          fault: `there is no <${name}>; ${near === null ? 'known are <positive>, <anything>, <ext>' : `did you mean <${near}>?`}`,
        }
      }
      if (known === 'positive' && open)
        return { fault: '<positive> may not stand in brackets: it must always be there' }
      count[known]++
      source += { positive: '(?<positive>.+?)', anything: '.+', ext: '[^.]+' }[known]
    } else if (token === '[') {
      if (open) return { fault: 'brackets may not stand inside brackets' }
      open = true
      source += '(?:'
    } else if (token === ']') {
      if (!open) return { fault: 'a closing bracket has no opening one' }
      open = false
      source += ')?'
    } else if (/[/\\<>]|\p{C}/u.test(token)) return { fault: `it may not hold ${JSON.stringify(token)}` }
    else source += token.replace(/[.*+?^${}()|]/g, '\\$&')
  }
  if (open) return { fault: 'an opening bracket has no closing one' }
  if (count.positive !== 1) return { fault: `it must hold <positive> once; it holds it ${count.positive} times` }
  if (count.anything > MOST_ANYTHING) return { fault: `it may hold <anything> ${MOST_ANYTHING} times at most` }
  if (count.ext > 1) return { fault: 'it may hold <ext> once at most' }
  return { expression: new RegExp(`^${source}$`, 'u') }
}
