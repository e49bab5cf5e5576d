import type { LineSpread } from '../model/calibration.js'

/** 10-90 % rise of a Gaussian of sigma 1. */
const RISE_OF_SIGMA = 2.5631
/** Pitches that differ by less than this are one setting. */
const SAME_PITCH = 0.02
/** What the change of the pixel does to the width is itself known only to this share: optics may change with the setting too. */
const CHANGE_ERROR = 0.3

/**
 * The line spread a scanner would have at another pixel pitch: its optics stay, the pixel's box changes, and variances add
 * (`sigma^2 = optics^2 + pitch^2 / 12`). An estimate for a scan at another dpi than the knife edge's, with an uncertainty that says so.
 * @param fromUm pitch of the knife edge's scan; `toUm` pitch of the film's scan
 */
export function spreadAtPitch(spread: LineSpread, fromUm: number, toUm: number): LineSpread {
  if (!(Math.abs(toUm / fromUm - 1) > SAME_PITCH)) return spread
  const variance = (spread.riseWidth / RISE_OF_SIGMA) ** 2 + (toUm ** 2 - fromUm ** 2) / 12
  // A spread sharper than its own pixel allows is no Gaussian: keep at least the new pixel's own rise, 0.8 of it.
  const riseWidth = Math.max(RISE_OF_SIGMA * Math.sqrt(Math.max(0, variance)), 0.8 * toUm)
  const scale = riseWidth / spread.riseWidth
  return {
    ...spread,
    riseWidth,
    riseWidthExpanded: Math.hypot(
      spread.riseWidthExpanded * scale,
      2 * CHANGE_ERROR * Math.abs(riseWidth - spread.riseWidth),
    ),
    stepUm: spread.stepUm * scale,
  }
}
