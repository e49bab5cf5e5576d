import { type LimitName, READINGS, type ReadingName, SET_READINGS, type Unit } from '../model/reading.js'
import type { SiteSettings } from '../model/site.js'

/** How units and names are shown: the site's choice, and whether the response to light is known at all. */
export interface Manner {
  readonly rulingUnit: SiteSettings['rulingUnit']
  /** `false`: densities are called `code density`. */
  readonly calibrated: boolean
}

/** A reading ready to be placed on a page: strings only. */
export interface FormattedReading {
  /** `at least`, `at most` or empty. */
  readonly boundWord: string
  readonly value: string
  /** U without the sign, at the same decimals as the value. */
  readonly expanded: string
  readonly unit: string
  /** The whole on one line: `3.42 ± 0.03 D`, `at least 3.58 D`. */
  readonly text: string
}

/** The parts of a reading that decide how it is written. */
export interface Quantity {
  readonly value: number
  readonly expanded: number
  readonly bound: 'atLeast' | 'atMost' | null
  readonly unit: Unit
}

const LINES_PER_CM = 1 / 2.54

/**
 * Writes a quantity with its expanded uncertainty: both rounded to the second significant digit of U
 * (JCGM 100:2008, 7.2.6, from memory), never finer than `finest` decimals, and U never rounded away to nothing.
 * A bound is rounded to its safe side: at least downwards, at most upwards.
 * @throws RangeError when value or U is not finite, or U is negative: a reading that could not be made is absent, not NaN.
 */
export function formatReading(quantity: Quantity, finest: number, manner: Manner): FormattedReading {
  if (!Number.isFinite(quantity.value)) throw new RangeError(`value of a reading must be finite; got ${quantity.value}`)
  if (!(Number.isFinite(quantity.expanded) && quantity.expanded >= 0))
    throw new RangeError(`expanded uncertainty of a reading must be 0 or more; got ${quantity.expanded}`)
  const shown = shownUnit(quantity.unit, manner)
  const expandedValue = quantity.expanded * shown.factor
  const decimals = Math.min(finest, decimalsOfSecondDigit(expandedValue, finest))
  const value = roundTo(quantity.value * shown.factor, decimals, quantity.bound)
  const rounded = roundTo(expandedValue, decimals, null)
  const expanded = rounded === 0 && expandedValue > 0 ? 10 ** -decimals : rounded
  const valueText = fixed(value, decimals)
  const expandedText = fixed(expanded, decimals)
  const boundWord = quantity.bound === 'atLeast' ? 'at least' : quantity.bound === 'atMost' ? 'at most' : ''
  const unit = shown.label === '' ? '' : `\u00a0${shown.label}`
  const text =
    boundWord === ''
      ? `${valueText}\u00a0±\u00a0${expandedText}${unit}`
      : `${boundWord.replace(' ', '\u00a0')}\u00a0${valueText}${unit}`
  return { boundWord, value: valueText, expanded: expandedText, unit: shown.label, text }
}

/**
 * A limit or an aim as the shop wrote it: no digit dropped, densities with two decimals at least.
 * A limit on density stays one on density even where the scan gives code density only.
 */
export function formatLimit(value: number, unit: Unit, manner: Manner): string {
  const shown = shownUnit(unit, { ...manner, calibrated: true })
  const plain = Number((value * shown.factor).toPrecision(shown.factor === 1 ? 12 : 4)).toString()
  const written = plain.split('.')[1]?.length ?? 0
  const number = unit === 'D' && written < 2 ? (value * shown.factor).toFixed(2) : plain
  return shown.label === '' ? number : `${number}\u00a0${shown.label}`
}

/** The unit as people read it, and what to multiply a value by to be in it. */
export function shownUnit(unit: Unit, manner: Manner): { label: string; factor: number } {
  switch (unit) {
    case 'D':
      return { label: manner.calibrated ? 'D' : 'code density', factor: 1 }
    case 'um':
      return { label: 'µm', factor: 1 }
    case 'mm2':
      return { label: 'mm²', factor: 1 }
    case 'degrees':
      return { label: '°', factor: 1 }
    case 'count':
      return { label: '', factor: 1 }
    case 'lines/in':
      return manner.rulingUnit === 'lines/cm'
        ? { label: 'lines/cm', factor: LINES_PER_CM }
        : { label: 'lines/in', factor: 1 }
    default:
      return { label: unit, factor: 1 }
  }
}

/** What a reading is called on a page, in what unit it comes, and how finely it may be written. */
export function readingKind(name: LimitName): { label: string; meaning: string; unit: Unit; decimals: number } {
  if (isReadingName(name)) return READINGS[name]
  const words = name.replace(/[A-Z]/g, letter => ` ${letter.toLowerCase()}`)
  return { label: words.charAt(0).toUpperCase() + words.slice(1), meaning: '', unit: SET_READINGS[name], decimals: 2 }
}

/** Whether this version can make the reading. */
export function isReadingName(name: string): name is ReadingName {
  return Object.hasOwn(READINGS, name)
}

/** Decimals (may be negative) of the second significant digit of U; `whenZero` for a U of 0. */
function decimalsOfSecondDigit(expanded: number, whenZero: number): number {
  if (expanded === 0) return whenZero
  const rounded = Number(expanded.toPrecision(2))
  return 1 - Math.floor(Math.log10(rounded))
}

/** Room for binary fractions that fall just short of the digit they stand for: 0.29 * 100 is 28.999999999999996. */
const LAST_BITS = 1e-9

function roundTo(value: number, decimals: number, bound: Quantity['bound']): number {
  const scale = 10 ** decimals
  const scaled = value * scale
  if (bound === 'atLeast') return Math.floor(scaled + LAST_BITS) / scale
  if (bound === 'atMost') return Math.ceil(scaled - LAST_BITS) / scale
  return Math.round(scaled + Math.sign(scaled) * LAST_BITS) / scale
}

function fixed(value: number, decimals: number): string {
  const text = value.toFixed(Math.max(0, decimals))
  return text.replace('-', '\u2212')
}
