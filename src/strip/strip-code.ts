import type { Dpi } from '../model/geometry.js'
import type { StripForm, StripIdentity, StripLaid, StripTints } from '../model/strip.js'

/**
 * The text in the code, fields parted by single spaces:
 * `<version><form><laid><tints> positive jobType dpi setting stock mode level printer check`.
 * Spaces within a field are written `*`, characters outside ASCII `$<hex>$`; a field that is not told is empty. Trailing
 * empty fields before the check are left out. The check is CRC-16 (polynomial 0x1021, from 0xFFFF) of all before it, in
 * base 36: the symbol's own error correction mends what is damaged, the check tells a wrong mend.
 */
export const CODE_VERSION = '1'

const FORMS: Readonly<Record<StripForm, string>> = { standard: 's', short: 'k', ladder: 'w' }
const LAIDS: Readonly<Record<StripLaid, string>> = { head: 'h', feed: 'f' }
const TINTS: Readonly<Record<StripTints, string>> = { screened: 's', grey: 'g' }

/** Finest and coarsest printer resolution a strip is drawn for. */
export const DPI_RANGE = { min: 200, max: 5760 } as const

/** What a field may hold: letters, digits, spaces and `. - _ + , ( ) %`; nothing that a path or a page would take as its own. */
const FIELD = /^[\p{L}\p{M}\p{N} ._+,()%-]*$/u

export type ParsedStripCode =
  | { readonly kind: 'identity'; readonly identity: StripIdentity }
  /** Some other Data Matrix: not begun as a strip's is. */
  | { readonly kind: 'other' }
  | { readonly kind: 'refused'; readonly because: string }

/** What is wrong with one field of the code, or null. */
export function codeFieldFault(value: string): string | null {
  if (/[/\\]/.test(value)) return 'holds a path'
  if (/\p{C}/u.test(value)) return 'holds control characters'
  if (/[<>&"'`]/.test(value)) return 'holds markup'
  if (!FIELD.test(value)) return 'holds other characters than letters, digits, spaces and . - _ + , ( ) %'
  if (value !== value.trim()) return 'begins or ends with a space'
  return null
}

/**
 * The text for the code.
 * @throws RangeError on a field `codeFieldFault` refuses, or a resolution out of DPI_RANGE
 */
export function encodeStripCode(identity: StripIdentity): string {
  const { form, laid, tints, dpi } = identity
  if (dpiFault(dpi.across) || dpiFault(dpi.along))
    throw new RangeError(`dpi must be whole and ${DPI_RANGE.min} to ${DPI_RANGE.max}; got ${dpi.across}x${dpi.along}`)
  const fields = [
    identity.positive,
    identity.jobType,
    dpi.across === dpi.along ? `${dpi.across}` : `${dpi.across}x${dpi.along}`,
    identity.setting ?? '',
    identity.stock ?? '',
    identity.mode ?? '',
    identity.level ?? '',
    identity.printer ?? '',
  ].map(value => {
    const fault = codeFieldFault(value)
    if (fault !== null) throw new RangeError(`a field of the code ${fault}; got ${JSON.stringify(value)}`)
    return escaped(value)
  })
  while (fields.at(-1) === '') fields.pop()
  const text = [`${CODE_VERSION}${FORMS[form]}${LAIDS[laid]}${TINTS[tints]}`, ...fields].join(' ')
  return `${text} ${check(text)}`
}

/** Reads the text of a code. Never throws: a stranger's code is no trouble, a spoilt one says why. */
export function parseStripCode(text: string): ParsedStripCode {
  const head = /^(\w)([skw])([hf])([sg]) /.exec(text)
  if (head === null) return { kind: 'other' }
  const cut = text.lastIndexOf(' ')
  if (text.slice(cut + 1) !== check(text.slice(0, cut)))
    return { kind: 'refused', because: 'its check does not agree with what it says' }
  if (head[1] !== CODE_VERSION)
    return { kind: 'refused', because: `it is of version ${head[1]}, and this burngate reads version ${CODE_VERSION}` }
  const parts = text.slice(0, cut).split(' ').slice(1)
  if (parts.length > 8) return { kind: 'refused', because: 'it has more fields than a strip has' }
  const [positive = '', jobType = '', dpiText = '', setting = '', stock = '', mode = '', level = '', printer = ''] =
    parts.map(unescaped)
  for (const [name, value] of Object.entries({ positive, jobType, setting, stock, mode, level, printer })) {
    const fault = codeFieldFault(value)
    if (fault !== null) return { kind: 'refused', because: `its ${name} ${fault}` }
  }
  if (positive === '') return { kind: 'refused', because: 'it names no positive' }
  const dpi = dpiOf(dpiText)
  if (dpi === null) return { kind: 'refused', because: 'it names no printer resolution' }
  return {
    kind: 'identity',
    identity: {
      positive,
      jobType,
      dpi,
      form: keyOf(FORMS, head[2]!),
      laid: keyOf(LAIDS, head[3]!),
      tints: keyOf(TINTS, head[4]!),
      ...(setting === '' ? {} : { setting }),
      ...(stock === '' ? {} : { stock }),
      ...(mode === '' ? {} : { mode }),
      ...(level === '' ? {} : { level }),
      ...(printer === '' ? {} : { printer }),
    },
  }
}

/** `720` or `1440x720` (across the head, along the feed), or null. */
export function dpiOf(text: string): Dpi | null {
  const [, across, along] = /^(\d{3,4})(?:x(\d{3,4}))?$/.exec(text) ?? []
  if (across === undefined) return null
  const dpi = { across: Number(across), along: Number(along ?? across) }
  return dpiFault(dpi.across) || dpiFault(dpi.along) ? null : dpi
}

function dpiFault(dpi: number): boolean {
  return !(Number.isInteger(dpi) && dpi >= DPI_RANGE.min && dpi <= DPI_RANGE.max)
}

function keyOf<K extends string>(table: Readonly<Record<K, string>>, letter: string): K {
  return (Object.keys(table) as K[]).find(key => table[key] === letter)!
}

function escaped(value: string): string {
  return [...value.normalize('NFC')]
    .map(c => (c === ' ' ? '*' : c.codePointAt(0)! > 126 ? `$${c.codePointAt(0)!.toString(16)}$` : c))
    .join('')
}

function unescaped(value: string): string {
  return value.replaceAll('*', ' ').replace(/\$([0-9a-f]{2,6})\$/g, (whole, hex: string) => {
    const point = Number.parseInt(hex, 16)
    return point <= 0x10_ff_ff ? String.fromCodePoint(point) : whole
  })
}

/** CRC-16 of the UTF-8 bytes, base 36. Check value of "123456789" is 0x29B1 (the usual test of this CRC). */
export function check(text: string): string {
  let crc = 0xff_ff
  for (const byte of new TextEncoder().encode(text)) {
    crc ^= byte << 8
    for (let bit = 0; bit < 8; bit++)
      crc = (crc & 0x80_00) !== 0 ? ((crc << 1) ^ 0x10_21) & 0xff_ff : (crc << 1) & 0xff_ff
  }
  return crc.toString(36)
}
