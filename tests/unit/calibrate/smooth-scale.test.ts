import { describe, expect, it } from 'vitest'
import { codeToDensity, responseCurve, type SeenStep } from '../../../src/calibrate/response-curve.js'
import { smoothScale } from '../../../src/calibrate/smooth-scale.js'
import { seededRandom } from '../../../src/demo/random.js'
import type { Calibration } from '../../../src/model/calibration.js'

const BLACK = 250
const GAIN = 60_000
const densities = Array.from({ length: 21 }, (_, i) => 0.05 + 0.15 * i)

/** A calibration of a scanner of exponent 1/1.8 that bends off it as told; certified densities may be wrong. */
function calibration(bend: (density: number) => number, wrong: (step: number) => number, expanded = 0.02): Calibration {
  const code = (density: number) => BLACK + GAIN * 10 ** (-(density + bend(density)) / 1.8)
  const seen = densities.map(
    (density, i): SeenStep => ({
      step: i + 1,
      density: density + wrong(i),
      expanded,
      code: code(density),
      codeError: 0.3,
      pixelNoise: 10,
      fullShare: 0,
      zeroShare: 0,
      column: 0,
      row: 0,
    }),
  )
  const { response, steps } = responseCurve(seen, { code: code(0), codeError: 3, fullShare: 0 }, null)
  return { response, steps } as Calibration
}

/** Worst error of the scale's slope, dD seen over dD, over the densities that 10 and 90 % crossings lie at. */
function worstSlope(made: ReturnType<typeof smoothScale>['response'], bend: (density: number) => number): number {
  const curve = codeToDensity(made)
  const at = (density: number) => curve.density(BLACK + GAIN * 10 ** (-(density + bend(density)) / 1.8))
  let worst = 0
  for (let d = 0.06; d < 1.2; d += 0.01) worst = Math.max(worst, Math.abs((at(d + 0.01) - at(d - 0.01)) / 0.02 - 1))
  return worst
}

describe('smoothScale', () => {
  it('leaves a scale alone whose certificate is right', () => {
    expect(
      worstSlope(
        smoothScale(
          calibration(
            () => 0,
            () => 0,
          ),
        ).response,
        () => 0,
      ),
    ).toBeLessThan(0.005)
  })

  it('takes out what wrong steps wriggle: the slope is ten times nearer than by the knots', () => {
    for (const seed of [1, 2, 3]) {
      const random = seededRandom(seed)
      const errors = densities.map(() => 0.007 * random.normal())
      const made = calibration(
        () => 0,
        i => errors[i]!,
      )
      const smooth = worstSlope(smoothScale(made).response, () => 0)
      expect(smooth).toBeLessThan(0.03)
      expect(worstSlope(made.response, () => 0)).toBeGreaterThan(3 * smooth)
    }
  })

  it('keeps the bend of a scanner that does not follow the formula', () => {
    const bend = (density: number) => 0.02 * Math.sin((2 * Math.PI * density) / 2.5)
    const sure = smoothScale(calibration(bend, () => 0, 0.004)).response
    // The bend itself changes the slope by 0.05.
    expect(worstSlope(sure, bend)).toBeLessThan(0.02)
  })

  it('says what an error of one step does: little to itself, and as a whole what moving it does', () => {
    const made = calibration(
      () => 0,
      () => 0,
    )
    const { spread } = smoothScale(made)
    expect(spread).toHaveLength(21)
    expect(spread[6]).toHaveLength(22)
    expect(spread[6]![7]).toBeLessThan(0.4)
    expect(spread[6]![7]).toBeGreaterThan(0)
    expect(Math.abs(spread[6]![0]!)).toBeLessThan(0.01)
  })
})
