import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { rippleSpectrum } from '../../../src/imaging/ripple-spectrum.js'

const plain = { transfer: () => 1, leastPitchMm: 1.2 }

describe('rippleSpectrum', () => {
  it('reads a wave known in closed form: 0.250 cycles/mm, amplitude 0.0200, standard deviation 0.0141421', () => {
    const wave = Float64Array.from({ length: 400 }, (_, i) => 3.5 + 0.02 * Math.sin(2 * Math.PI * 0.25 * 0.5 * i + 0.7))
    const { line, variance } = rippleSpectrum({ strips: [wave, wave], stepMm: 0.5, ...plain })
    expect(line!.frequency).toBeCloseTo(0.25, 6)
    expect(line!.amplitude).toBeCloseTo(0.02, 6)
    expect(Math.sqrt(variance)).toBeCloseTo(0.0141421, 6)
  })

  it('reads a wave of three and a half pitches on a slope, off every bin of the transform', () => {
    const pitch = 400 / 3.5
    const wave = Float64Array.from(
      { length: 400 },
      (_, i) => 1 + 1e-4 * i + 2e-7 * i * i + 0.05 * Math.cos((2 * Math.PI * i) / pitch + 2),
    )
    const { line, variance } = rippleSpectrum({ strips: [wave, wave], stepMm: 0.05, ...plain, leastPitchMm: 0.3 })
    expect(1 / line!.frequency).toBeCloseTo(pitch * 0.05, 4)
    expect(line!.amplitude).toBeCloseTo(0.05, 5)
    expect(Math.sqrt(variance)).toBeCloseTo(0.05 / Math.SQRT2, 5)
  })

  it('adds two waves by their squares, and gives back what the optics took', () => {
    const transfer = (frequency: number) => Math.exp(-0.1 * frequency)
    const wave = Float64Array.from(
      { length: 512 },
      (_, i) =>
        0.03 * transfer(0.5) * Math.sin(2 * Math.PI * 0.5 * 0.1 * i) +
        0.01 * transfer(2) * Math.sin(2 * Math.PI * 2 * 0.1 * i),
    )
    const { variance } = rippleSpectrum({ strips: [wave, wave], stepMm: 0.1, transfer, leastPitchMm: 0.3 })
    expect(Math.sqrt(variance)).toBeCloseTo(Math.hypot(0.03, 0.01) / Math.SQRT2, 4)
  })

  it('takes noise for noise, and tells how sure it is', () => {
    const random = seededRandom(6)
    let alarms = 0
    let outside = 0
    for (let k = 0; k < 60; k++) {
      const strips = Array.from({ length: 8 }, () => Float64Array.from({ length: 256 }, () => 0.01 * random.normal()))
      const { line, variance, varianceError, floor } = rippleSpectrum({
        strips,
        stepMm: 0.05,
        ...plain,
        leastPitchMm: 0.3,
      })
      if (line !== null) alarms++
      if (Math.abs(variance) > 2 * varianceError) outside++
      // The band from 3 pitches to 0.3 mm holds a third of white noise, of which the mean of 8 strips has an eighth.
      expect(floor).toBeGreaterThan(0.001)
      expect(floor).toBeLessThan(0.0035)
    }
    expect(alarms).toBeLessThanOrEqual(1)
    expect(outside).toBeLessThanOrEqual(8)
  })

  it('refuses strips of unequal length and a lone one', () => {
    const strip = new Float64Array(64)
    expect(() => rippleSpectrum({ strips: [strip], stepMm: 1, ...plain })).toThrow('at least 2 strips')
    expect(() => rippleSpectrum({ strips: [strip, new Float64Array(63)], stepMm: 1, ...plain })).toThrow(RangeError)
  })
})
