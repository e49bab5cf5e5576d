import type { Calibration, ResponseCurve } from '../model/calibration.js'
import type { DensityEstimate, LightScale } from '../model/light.js'
import type { Component } from '../model/reading.js'
import { BLACK_DRIFT_CODES } from './deepest-density.js'
import { withoutFlare } from './flare-scale.js'
import { type CodeToDensity, codeToDensity, formulaUncertainty } from './response-curve.js'
import { scaleSteps } from './scale-steps.js'
import { smoothScale } from './smooth-scale.js'

const CODES = 65536
/** A guess is capped here, D: no film is deeper, and light near none has no logarithm. */
const DEEPEST_GUESS = 5.5
/** Step of the table of lower ends, D. */
const BOUND_STEP = 0.01
/** Unknown response: black and noise are unknown too, so a code is taken to be this uncertain, codes. */
const UNKNOWN_CODE_ERROR = 5

/**
 * The light scale of a calibrated scanner.
 *
 * `density` gives the curve's density of a mean code with its budget:
 * - `tablet`: standard uncertainty of the certificate, interpolated at that density (0 at open light, which is D 0 by definition);
 * - `fit`: standard error of the knots round it;
 * - `noise`: the given standard error of the mean code through the curve's slope;
 * - `black`: what is not known of black, veil and gamma, the knots held (they were measured, so inside the tablet little).
 * - `black drift`: how far the black level of this scan may lie from the calibration's.
 * Combined in quadrature (JCGM 100:2008, 5.1.2). Beyond the deepest density told apart the answer is a bound: the film
 * is at least so dense, its uncertainty (k = 2) already taken off; `standard` and `budget` are those at the deepest density.
 * Assumes the scan was made at the calibration's setting.
 */
export function lightScale(calibration: Calibration): LightScale {
  const before = made.get(calibration)
  if (before !== undefined) return before
  const scale = scaleOf(calibration)
  made.set(calibration, scale)
  return scale
}

/** A calibration never changes, and one inspection asks several times. */
const made = new WeakMap<Calibration, LightScale>()

function scaleOf(calibration: Calibration): LightScale {
  const { response, deepest } = calibration
  const { black, knots } = response
  const curve = codeToDensity(response)
  const formula = formulaUncertainty(response)
  const expanded = [
    ...(calibration.steps[0]!.density > 0 ? [{ density: 0, expanded: 0 }] : []),
    ...calibration.steps.filter(s => s.trusted),
  ]

  // Edges and the map of the page are read off this: smooth. Patches are read off the knots themselves.
  const smooth = smoothScale(calibration).response
  const transmittance = lightTable(smooth)
  const smoothCurve = codeToDensity(smooth)

  function estimate(code: number, codeError: number): { standard: number; budget: Component[] } {
    const density = curve.density(code)
    const slope = Math.abs(curve.slope(code))
    const budget: Component[] = [
      { name: 'tablet', standard: along(expanded, density, e => e.expanded) / 2 },
      { name: 'fit', standard: along(knots, density, k => k.standardError) },
      { name: 'noise', standard: slope * codeError },
      { name: 'black', standard: formula(code) },
      { name: 'black drift', standard: slope * BLACK_DRIFT_CODES },
    ]
    return { standard: Math.hypot(...budget.map(c => c.standard)), budget }
  }

  const deepestCode = codeOf(deepest, curve)
  function codeOf(density: number, { density: at }: CodeToDensity): number {
    let low = black
    let high = 2 * CODES
    for (let i = 0; i < 70; i++) {
      const middle = (low + high) / 2
      if (at(middle) > density) low = middle
      else high = middle
    }
    return (low + high) / 2
  }

  // What is as dark as a code, or darker, is at least as dense as anything brighter: the best of those lower ends counts.
  const lowerEnds: number[] = []
  function leastDensity(code: number): number {
    const at = Math.max(0, Math.floor(Math.min(curve.density(code), DEEPEST_GUESS) / BOUND_STEP))
    // Worked out as deep as it is asked for: most films are not.
    for (let i = lowerEnds.length; i <= at; i++) {
      const { standard } = estimate(codeOf(i * BOUND_STEP, curve), 0)
      lowerEnds.push(Math.max(0, lowerEnds.at(-1) ?? 0, i * BOUND_STEP - 2 * standard))
    }
    return lowerEnds[at]!
  }

  const seen: LightScale = {
    calibrated: true,
    transmittance,
    deepest,
    lineSpread: { across: calibration.sharpness?.across ?? null, along: calibration.sharpness?.along ?? null },
    steps: scaleSteps(calibration),
    density(meanCode, codeError): DensityEstimate {
      checkCode(meanCode, codeError)
      const raw = curve.density(meanCode)
      const guess = Math.min(raw, DEEPEST_GUESS)
      if (raw <= deepest) return { density: raw, bound: null, guess, ...estimate(meanCode, codeError) }
      const { standard, budget } = estimate(deepestCode, codeError)
      const density = Math.min(deepest, leastDensity(meanCode + 2 * codeError))
      return { density, bound: 'atLeast', guess, standard, budget }
    },
    code(light) {
      if (light === 0) return black
      const code = codeOf(-Math.log10(Math.abs(light)), smoothCurve)
      return light > 0 ? code : 2 * black - code
    },
  }
  const { flare } = calibration
  const steps = calibration.steps
    .filter(step => step.trusted && step.surround !== undefined)
    .map(step => ({ density: step.density, surround: step.surround! }))
  return flare === undefined || flare === null || steps.length === 0 ? seen : withoutFlare(seen, flare, steps)
}

/** Light for every code of a response curve: 65536 entries, strictly rising, odd about black. */
export function lightTable(response: ResponseCurve): Float32Array {
  const curve = codeToDensity(response)
  const table = new Float32Array(CODES)
  for (let code = 0; code < CODES; code++) {
    if (code === response.black) continue
    const light = 10 ** -curve.density(response.black + Math.abs(code - response.black))
    table[code] = code > response.black ? light : -light
  }
  keepRising(table)
  return table
}

/**
 * The scale of a scan nobody calibrated: codes taken as linear, the brightest level as no film. What it gives is `code
 * density`, never density; `calibrated` is false and no verdict may pass on it. The scale is linear from code 0, so black is taken as 0 too.
 * @param openCode mean code of open light, above 0; null when none is in view: then full scale stands for it
 */
export function unknownLightScale(openCode: number | null): LightScale {
  if (openCode !== null && !(openCode > 0 && openCode <= 65535))
    throw new RangeError(`openCode must be above 0 and at most 65535; got ${openCode}`)
  const top = openCode ?? 65535
  const transmittance = new Float32Array(CODES)
  for (let code = 0; code < CODES; code++) transmittance[code] = code / top
  return {
    calibrated: false,
    transmittance,
    deepest: null,
    lineSpread: { across: null, along: null },
    density(meanCode, codeError) {
      checkCode(meanCode, codeError)
      const guess = meanCode > 0 ? Math.min(-Math.log10(meanCode / top), DEEPEST_GUESS) : DEEPEST_GUESS
      const perCode = 1 / Math.LN10 / Math.max(meanCode, 1)
      const budget = [
        { name: 'noise', standard: perCode * codeError },
        { name: 'black', standard: perCode * UNKNOWN_CODE_ERROR },
      ]
      return { density: guess, standard: Math.hypot(...budget.map(c => c.standard)), budget, bound: null, guess }
    },
    code(light) {
      return light * top
    },
  }
}

function checkCode(meanCode: number, codeError: number): void {
  if (!Number.isFinite(meanCode)) throw new RangeError(`meanCode must be a finite code; got ${meanCode}`)
  if (!(codeError >= 0 && Number.isFinite(codeError)))
    throw new RangeError(`codeError must be 0 or more; got ${codeError}`)
}

/** Linear interpolation over density, the end values held. */
function along<T extends { readonly density: number }>(
  list: readonly T[],
  density: number,
  value: (item: T) => number,
): number {
  if (density <= list[0]!.density) return value(list[0]!)
  for (let i = 1; i < list.length; i++) {
    const a = list[i - 1]!
    const b = list[i]!
    if (density <= b.density)
      return value(a) + ((value(b) - value(a)) * (density - a.density)) / (b.density - a.density)
  }
  return value(list.at(-1)!)
}

/** Rounding to float32 can make two far-off neighbours equal (codes above open light); the scale must rise strictly. */
function keepRising(table: Float32Array): void {
  const bits = new Int32Array(table.buffer)
  for (let code = 1; code < table.length; code++)
    if (!(table[code]! > table[code - 1]!)) {
      table[code] = table[code - 1]!
      bits[code]! += table[code]! >= 0 ? 1 : -1
    }
}
