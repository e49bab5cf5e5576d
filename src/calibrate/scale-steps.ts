import type { Calibration } from '../model/calibration.js'
import type { ScaleStep } from '../model/length-doubts.js'
import { OWN_VARIANCE, smoothScale } from './smooth-scale.js'

/** The tablet's steps that a calibration's light scale rests on, with what an error of each does to the smoothed scale. */
export function scaleSteps(calibration: Calibration): readonly ScaleStep[] {
  const { spread } = smoothScale(calibration)
  return calibration.steps
    .filter(step => step.trusted)
    .map(({ density, expanded }, k) => ({
      density,
      standard: expanded / 2,
      own: Math.sqrt(OWN_VARIANCE) * (expanded / 2),
      spread: spread[k]!,
    }))
}
