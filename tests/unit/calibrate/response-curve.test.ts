import { describe, expect, it } from 'vitest'
import { BLACK_DRIFT_CODES, deepestDensity } from '../../../src/calibrate/deepest-density.js'
import {
  codeToDensity,
  formulaOf,
  responseCurve,
  type SeenOpen,
  type SeenStep,
} from '../../../src/calibrate/response-curve.js'
import { ProblemError } from '../../../src/model/problem.js'
import { expectWithin } from '../../support/expect-within.js'
import { type TestScanner, trueCode } from './tablet-raster.js'

const SCANNER: TestScanner = { black: 250, gain: 56_000, gamma: 1, noise: 20 }

function seen(scanner: TestScanner, change: (step: SeenStep) => Partial<SeenStep> = () => ({})): SeenStep[] {
  return Array.from({ length: 21 }, (_, i) => {
    const density = 0.05 + 0.15 * i
    const step: SeenStep = {
      step: i + 1,
      density,
      expanded: 0.02,
      code: trueCode(scanner, density),
      codeError: 0.4,
      pixelNoise: scanner.noise,
      fullShare: 0,
      zeroShare: 0,
      column: 0,
      row: 0,
    }
    return { ...step, ...change(step) }
  })
}

const open = (scanner: TestScanner, fullShare = 0): SeenOpen => ({
  code: trueCode(scanner, 0),
  codeError: 5,
  fullShare,
})
const dark = (code: number, zeroShare = 0) => ({ code, codeError: 0.2, zeroShare })

function refusal(run: () => unknown) {
  try {
    run()
  } catch (error) {
    if (error instanceof ProblemError) return error.problem
    throw error
  }
  return expect.fail('was not refused')
}

describe('responseCurve', () => {
  it('finds black, gain, gamma and veil of scanners it is told of exactly', () => {
    for (const scanner of [
      { ...SCANNER },
      { ...SCANNER, gamma: 2.2 },
      { ...SCANNER, gamma: 2, veil: 3e-4 },
    ] as TestScanner[]) {
      const black = trueCode(scanner, 30)
      const { response, usedOpen, usedDark, warnings } = responseCurve(seen(scanner), open(scanner), dark(black))
      expectWithin(response.black, black, { abs: 1, unit: 'codes', because: 'measured on the holder' })
      expectWithin(response.gamma, scanner.gamma, {
        abs: 0.004,
        unit: '1',
        because: 'no noise; the veil’s prior pulls a little',
      })
      expectWithin(response.veil!, scanner.gamma === 1 ? 0 : (scanner.veil ?? 0), {
        abs: 3e-5,
        unit: 'T',
        because: 'a linear scanner’s veil is black',
      })
      expect([usedOpen, usedDark, warnings.length]).toEqual([true, true, 0])
    }
  })

  it('calls black uncertain when only shallow steps are there (checks 4.12)', () => {
    const all = seen(SCANNER)
    const deep = responseCurve(all, open(SCANNER), null).response
    const shallow = responseCurve(all.slice(0, 9), open(SCANNER), null).response
    expect(shallow.blackError).toBeGreaterThan(20 * deep.blackError)
  })

  it('trusts no step that is lost in the noise, nor any after it', () => {
    const steps = seen(SCANNER, step => (step.step === 18 ? { code: trueCode(SCANNER, 0.05 + 0.15 * 16) - 0.5 } : {}))
    const trusted = responseCurve(steps, open(SCANNER), null).steps.map(step => step.trusted)
    expect(trusted.slice(0, 17).every(Boolean)).toBe(true)
    expect(trusted.slice(17).some(Boolean)).toBe(false)
  })

  it('refuses a clear step clipped in more than one pixel of a thousand, at either end of the scale', () => {
    const clipped = (share: number) => seen(SCANNER, step => (step.step === 1 ? { fullShare: share } : {}))
    expect(responseCurve(clipped(0.001), open(SCANNER), null).steps).toHaveLength(21)
    expect(refusal(() => responseCurve(clipped(0.0011), open(SCANNER), null)).code).toBe('CALIBRATION_CLIPPED')
    const atZero = (share: number) => seen(SCANNER, step => (step.step === 7 ? { zeroShare: share } : {}))
    expect(responseCurve(atZero(0.001), open(SCANNER), null).steps).toHaveLength(21)
    expect(refusal(() => responseCurve(atZero(0.0011), open(SCANNER), null)).what).toMatch(/step 7 is at code 0/)
    const deepZero = seen(SCANNER, step => (step.step === 20 ? { zeroShare: 0.01 } : {}))
    expect(responseCurve(deepZero, open(SCANNER), null).steps[19]!.trusted).toBe(false)
  })

  it('refuses open light clipped beyond 90 %, and leaves it out beyond one in a thousand', () => {
    const at = (share: number) => responseCurve(seen(SCANNER), open(SCANNER, share), null)
    expect(at(0.001).usedOpen).toBe(true)
    expect(at(0.0011).usedOpen).toBe(false)
    expect(at(0.9).usedOpen).toBe(false)
    expect(refusal(() => at(0.91)).code).toBe('CALIBRATION_CLIPPED')
  })

  it('refuses steps that rise beyond noise', () => {
    const risen = (by: number) =>
      seen(SCANNER, step => (step.step === 10 ? { code: trueCode(SCANNER, 0.05 + 0.15 * 8) + by } : {}))
    expect(refusal(() => responseCurve(risen(30), open(SCANNER), null)).code).toBe('CALIBRATION_NOT_MONOTONE')
  })

  it('leaves out a dark reference that lets light through, and open light that is film', () => {
    const leaky = responseCurve(seen(SCANNER), open(SCANNER), dark(trueCode(SCANNER, 2.9)))
    expect(leaky.usedDark).toBe(false)
    expect(leaky.warnings.join()).toMatch(/dark reference/i)
    const clippedDark = responseCurve(seen(SCANNER), open(SCANNER), dark(250, 0.002))
    expect(clippedDark.usedDark).toBe(false)
    const film = { ...open(SCANNER), code: trueCode(SCANNER, 0.04) }
    const withFilm = responseCurve(seen(SCANNER), film, null)
    expect(withFilm.usedOpen).toBe(false)
    expect(withFilm.warnings.join()).toMatch(/free of film/)
  })

  it('goes on from the last knot without a jump and falls strictly', () => {
    const scanner = { ...SCANNER, gamma: 2.1, veil: 2e-4 }
    const steps = seen(scanner, step => ({ code: step.code * (1 + 0.01 * Math.sin(step.step)) }))
    const { response } = responseCurve(steps, open(scanner), null)
    const curve = codeToDensity(response)
    const last = response.knots.at(-1)!
    expectWithin(curve.density(last.code - 1e-6), last.density, { abs: 1e-5, unit: 'D', because: 'no jump' })
    let before = Number.POSITIVE_INFINITY
    for (let code = response.black + 0.5; code < 65_535; code += 3.7) {
      const density = curve.density(code)
      if (!(density < before)) expect.fail(`rises at code ${code}`)
      before = density
      const slope = (curve.density(code + 0.01) - curve.density(code - 0.01)) / 0.02
      if (Math.abs(code - last.code) > 1 && code > response.black + 100)
        expect(Math.abs(slope / curve.slope(code) - 1)).toBeLessThan(0.05)
    }
    expect(formulaOf(response).density(response.black)).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('deepestDensity', () => {
  const response = responseCurve(seen(SCANNER), open(SCANNER), dark(250)).response
  const certain = { ...response, blackError: 0, covariance: [0, 1, 2, 3].map(() => [0, 0, 0, 0]) }

  it('is where 0.15 D more changes the code by twice the noise of a square millimetre and the drift of black', () => {
    // Signal S at D: 0.292 S = 2 sigma, S = gain 10^-D, sigma both in quadrature.
    for (const sigma of [2, 5, 12]) {
      const wanted = Math.log10((56_000 * (1 - 10 ** -0.15)) / (2 * Math.hypot(sigma, BLACK_DRIFT_CODES)))
      expectWithin(deepestDensity(certain, sigma, true), wanted, { abs: 0.012, unit: 'D', because: 'cut to 0.01' })
    }
  })

  it('goes at most 0.30 D past the tablet, 1.00 D with a dark reference', () => {
    expect(deepestDensity(certain, 0.01, false)).toBe(3.35)
    // Black that drifts by 1.5 codes ends this linear scanner at 3.73; one with a gain ten times as large would go on to 4.05.
    expect(deepestDensity(certain, 0.01, true)).toBe(3.73)
    const strong = {
      ...certain,
      gain: certain.gain * 10,
      knots: certain.knots.map(k => ({ ...k, code: certain.black + (k.code - certain.black) * 10 })),
    }
    expect(deepestDensity(strong, 0.01, true)).toBe(4.05)
  })

  it('falls when black is less certain', () => {
    const unsure = { ...certain, covariance: [[100, 0, 0, 0], ...[1, 2, 3].map(() => [0, 0, 0, 0])] }
    expect(deepestDensity(unsure, 1, true)).toBeLessThan(deepestDensity(certain, 1, true) - 0.3)
  })
})

describe('responseCurve against a certificate of another tablet', () => {
  it('refuses densities off by more than bent scales explain', () => {
    const zigzag = (by: number) => seen(SCANNER, step => ({ density: step.density + (step.step % 2 === 0 ? by : -by) }))
    expect(responseCurve(zigzag(0.055), null, null).response.fitResidual).toBeGreaterThan(0.04)
    expect(refusal(() => responseCurve(zigzag(0.07), null, null)).code).toBe('TABLET_STEP_COUNT')
  })
})
