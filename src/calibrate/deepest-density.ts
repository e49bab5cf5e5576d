import type { ResponseCurve } from '../model/calibration.js'
import { codeToDensity, formulaUncertainty } from './response-curve.js'

/** The step of a usual tablet: what must still be told apart, D. */
export const TOLD_STEP = 0.15
/** Coverage factor of "told apart" (JCGM 100:2008, 6.2: about 95 %). */
const COVERAGE = 2
/** How far past the tablet's last trusted step the fitted curve may be believed, D. */
const BEYOND_WITHOUT_DARK = 0.3
const BEYOND_WITH_DARK = 1.0

/**
 * How far the black level of one scan may lie from the calibration's, codes (one sigma): electronics warm up and dark correction is made
 * anew for every scan. One of 65535 levels is 0.007 D at D 3 and 0.066 D at D 4, so this alone ends a linear scanner's depth near D 3.7.
 * Common practice, no source; a shop's own gauge study tells better.
 */
export const BLACK_DRIFT_CODES = 1.5

/**
 * The deepest density the scanner tells: the greatest D at which one more 0.15 D still changes the mean code of a 1 mm
 * square by at least twice its uncertainty, sqrt(noise of the square's mean ^2 + effect of what is not known of black and veil ^2 + drift of black between scans ^2).
 * This is an incremental signal to noise of 1 at k = 2, after ISO 21550:2004 (criterion from memory), with black counted
 * too: a level that is not known is no signal. Inside the tablet the knots hold the curve and an error of black does
 * little; past its last trusted step it tells fully. Never more than 0.30 D past that step, or 1.00 D when black was
 * measured on an opaque reference (the project's own bounds: a tablet cannot vouch for more).
 * @param squareNoise standard deviation of the mean code of a 1 mm square in the deepest places, codes
 * @returns D, rounded down to 0.01; at least the first knot's density
 */
export function deepestDensity(curve: ResponseCurve, squareNoise: number, darkMeasured: boolean): number {
  const toDensity = codeToDensity(curve)
  const clear = curve.knots[0]!
  const last = curve.knots.at(-1)!
  const limit = last.density + (darkMeasured ? BEYOND_WITH_DARK : BEYOND_WITHOUT_DARK)
  const uncertainty = formulaUncertainty(curve)
  let deepest = clear.density
  for (let density = clear.density; density <= limit + 1e-9; density += 0.01) {
    const code = codeAt(density)
    const change = code - codeAt(density + TOLD_STEP)
    const blackCodes = uncertainty(code) / -toDensity.slope(code)
    if (!(change >= COVERAGE * Math.hypot(squareNoise, blackCodes, BLACK_DRIFT_CODES))) break
    deepest = density
  }
  return Math.floor(deepest * 100 + 1e-6) / 100

  function codeAt(density: number): number {
    let low = curve.black
    let high = clear.code + 1
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2
      if (toDensity.density(middle) > density) low = middle
      else high = middle
    }
    return (low + high) / 2
  }
}

/**
 * Density at which light equals the noise: log10(full scale / sigma). What bit depth and noise alone allow,
 * before black, flare and the eye are asked (quoted figure of merit; `checks` T12).
 * @param noise standard deviation, codes, above 0
 */
export function noiseLimitedDensity(noise: number, fullScale = 65535): number {
  if (!(noise > 0)) throw new RangeError(`noise must be above 0; got ${noise}`)
  return Math.log10(fullScale / noise)
}
