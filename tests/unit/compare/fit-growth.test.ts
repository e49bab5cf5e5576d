import { describe, expect, it } from 'vitest'
import { edgeShift } from '../../../src/compare/edge-shift.js'
import { fitGrowth } from '../../../src/compare/fit-growth.js'
import { expectWithin } from '../../support/expect-within.js'

const DAY_S = 86_400

describe('fitGrowth', () => {
  it('finds the diffusion constant again from spread: sigma^2 25, 31.048 ... 49.192 um^2 each week is 5e-6 um^2/s (closed form, Fick)', () => {
    const samples = [31.048, 37.096, 43.144, 49.192].map((square, i) => ({
      days: 7 * (i + 1),
      value: Math.sqrt(square) - 5,
      standard: 0.01,
    }))
    const fit = fitGrowth(samples, null).find(f => f.law === 'diffusion')!
    expectWithin(fit.rate / DAY_S / 2, 5e-6, { abs: 1e-9, unit: 'um2/s', because: 'three decimals of the squares' })
    expectWithin(fit.start!, 5, { abs: 2e-3, unit: 'um', because: 'three decimals of the squares' })
    expect(fitGrowth(samples, null)[0]!.law).toBe('diffusion')
  })

  it.each([
    [1e-6, 5.4625],
    [1e-5, 8.5664],
    [1e-4, 22.5575],
  ])(
    'an edge of sigma 5 um at D %f um^2/s for 28 days ends at sigma %f um and half the light moves with it',
    (constant, sigma) => {
      const shift = edgeShift(3.5)
      const after = (days: number) => Math.sqrt(25 + 2 * constant * DAY_S * days)
      const samples = [4, 9, 14, 20].map(days => ({ days, value: shift * (after(days) - 5), standard: 0.05 }))
      const fit = fitGrowth(samples, { value: shift * 5, standard: 0.1 }).find(f => f.law === 'diffusion')!
      expectWithin(fit.at(28).value, shift * (sigma - 5), {
        abs: 1e-4,
        unit: 'um',
        because: 'four decimals of the table',
      })
      expectWithin(fit.reaches(shift * (sigma - 5))!, 28, {
        abs: 0.02,
        unit: 'days',
        because: 'four decimals of sigma',
      })
    },
  )

  it('a line through points of which the first is held: the slope of NIST StRD NoInt1, when the baseline is beyond doubt', () => {
    // x 60 to 70, y 130 to 140; certified slope 2.07438016528926, standard error .0165289256198347. The least standard is that of a baseline without error.
    const samples = Array.from({ length: 11 }, (_, i) => ({ days: 60 + i, value: 130 + i, standard: 1 }))
    const sure = { days: 1e-15, value: 0, standard: 1e-6 }
    const line = fitGrowth([...samples, sure], null, ['line'])[0]!
    expectWithin(line.rate, 2.07438016528926, { abs: 1e-9, unit: 'a day', because: 'the certified value' })
    // One more point in the degrees of freedom: 10 become 11.
    expectWithin(line.at(1).standard, 0.0165289256198347 * Math.sqrt(10 / 11), {
      abs: 1e-9,
      unit: 'a day',
      because: 'the certified standard error',
    })
  })

  it('counts the baseline’s error as common: the level of two equal scans is half the variance of their difference', () => {
    // Two scans at one age: (own 2 of variance each) / 2 + common 2.
    const two = fitGrowth(
      [4, 4].map(value => ({ days: 10, value, standard: 2 })),
      null,
      ['line'],
    )[0]!
    expectWithin(two.at(10).standard, Math.sqrt(3), { abs: 1e-6, unit: 'um', because: 'closed form' })
  })

  it('leaves out a law with too many parameters, and says AICc as published', () => {
    const samples = [5, 10].map(days => ({ days, value: days / 5, standard: 0.5 }))
    const laws = fitGrowth(samples, null)
    expect(laws.map(f => f.law).sort()).toEqual(['line', 'none'])
    const line = laws.find(f => f.law === 'line')!
    // n 3, p 1: 2 + 4 / 1.
    expectWithin(line.aicc - line.chiSquare, 6, { abs: 1e-12, unit: '', because: 'exact' })
    expect(fitGrowth(samples, { value: 15, standard: 1 }).map(f => f.law)).toContain('diffusion')
  })

  it('reaches nothing when the film shrinks', () => {
    const samples = [10, 20, 30].map(days => ({ days, value: -days / 10, standard: 0.1 }))
    for (const fit of fitGrowth(samples, { value: 15, standard: 1 })) expect(fit.reaches(5)).toBeNull()
  })

  it('refuses what is no sample', () => {
    expect(() => fitGrowth([], null)).toThrow(/one sample/)
    expect(() => fitGrowth([{ days: 0, value: 1, standard: 1 }], null)).toThrow(/days/)
    expect(() => fitGrowth([{ days: 1, value: Number.NaN, standard: 1 }], null)).toThrow(/finite/)
    expect(() => fitGrowth([{ days: 1, value: 1, standard: 0 }], null)).toThrow(/standards above 0/)
    expect(() => fitGrowth([{ days: 1, value: 1, standard: 1 }], { value: 0, standard: 1 })).toThrow(/start/)
    expect(fitGrowth([{ days: 1e-9, value: 1, standard: 1e-9 }], null)).not.toHaveLength(0)
  })
})
