import type { Calibration } from '../model/calibration.js'
import type { LightScale } from '../model/light.js'

/** How much brighter or dimmer a scan's open light is than its calibration's. */
export interface LightDrift {
  /** Open light of the scan over that of the calibration: 1 is unchanged. */
  readonly factor: number
  /** Standard uncertainty of the factor. */
  readonly standard: number
}

/** Open light varies over the bed and from line to line by about this share, though the lamp has not changed. Common practice, no source. */
const OPEN_EVENNESS = 0.003
/** A correction is itself uncertain by this share of what it corrects: white alone is not all of drift. */
const CORRECTION_SHARE = 0.1
/** Open light with more clipped pixels than this says nothing of the lamp. */
const MOST_CLIPPED = 0.001

/** Drift over this is noted; over the other the scan is doubted. */
export const NOTED_DRIFT = 0.02
export const DOUBTED_DRIFT = 0.05

/**
 * Drift of the lamp from the open light in view, told against the calibration's own open light on the same curve.
 * @param openLight mean light of open bed on the scan, through the calibration's table; null when none is in view
 * @returns null when there is nothing to compare: no open light here, or none or a clipped one in the calibration
 */
export function lightDrift(calibration: Calibration, scale: LightScale, openLight: number | null): LightDrift | null {
  const then = calibration.openLight
  if (openLight === null || then === null || then.clippedShare > MOST_CLIPPED) return null
  const light = scale.transmittance[Math.round(then.code)]!
  if (!(light > 0)) return null
  const factor = openLight / light
  return { factor, standard: Math.hypot(OPEN_EVENNESS, CORRECTION_SHARE * Math.abs(factor - 1)) }
}

/**
 * The scale with the drift taken out: light is divided by the factor, so density gains log10(factor). The black level does not move with
 * the lamp, so the curve stays as it is. Adds `light drift` to every budget.
 */
export function withoutDrift(scale: LightScale, drift: LightDrift): LightScale {
  const shift = Math.log10(drift.factor)
  const standard = drift.standard / drift.factor / Math.LN10
  return {
    ...scale,
    transmittance: scale.transmittance.map(light => light / drift.factor),
    deepest: scale.deepest === null ? null : scale.deepest + shift,
    code: light => scale.code(light * drift.factor),
    density(meanCode, codeError, surround) {
      // The scale knows undrifted light: what is round the place goes in as it was seen.
      const seen = scale.density(
        meanCode,
        codeError,
        surround?.map(s => s * drift.factor),
      )
      return {
        density: Math.max(0, seen.density + shift),
        guess: seen.guess + shift,
        bound: seen.bound,
        standard: Math.hypot(seen.standard, standard),
        budget: [...seen.budget, { name: 'light drift', standard }],
      }
    },
  }
}
