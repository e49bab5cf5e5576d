import { describe, expect, it } from 'vitest'
import { individualsChart } from '../../../src/trend/individuals-chart.js'
import { processChart } from '../../../src/trend/process-chart.js'
import { rangeConstants } from '../../../src/trend/range-constants.js'
import { gaussian } from '../../support/gaussian-series.js'

describe('individualsChart, published examples', () => {
  it('has the limits of the e-Handbook’s flow rates (NIST 6.3.2.2; d2 there is 1.128)', () => {
    const { mean, movingRange, lower, upper } = individualsChart([
      49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
    ])
    expect(mean).toBeCloseTo(50.81, 10)
    expect(Math.abs(movingRange - 1.8778)).toBeLessThan(1e-4)
    // The exact d2, 1.128379, makes the limits closer by 3 in 10 000 of their reach of 4.994.
    expect(Math.abs(upper - 55.8041)).toBeLessThan(2e-3)
    expect(Math.abs(lower - 45.8159)).toBeLessThan(2e-3)
  })

  it('has the limits of 25 values in a quality handbook (table 9.4), and 3.267 mean ranges', () => {
    const values = [
      110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90, 97, 99, 106, 90, 96, 109, 90, 91, 108, 96, 101, 96,
    ]
    const { mean, movingRange, lower, upper } = individualsChart(values)
    expect(mean).toBeCloseTo(99.04, 10)
    expect(movingRange).toBeCloseTo(196 / 24, 10)
    expect(Math.abs(upper - 120.76)).toBeLessThan(0.01)
    expect(Math.abs(lower - 77.32)).toBeLessThan(0.01)
    const { d2, d3 } = rangeConstants(2)
    expect(Math.abs((1 + (3 * d3) / d2) * movingRange - 26.6805)).toBeLessThan(0.01)
  })
})

/** Steady, no run and nothing far out. */
const steady = (count: number, about = 10) =>
  Array.from({ length: count }, (_, i) => about + [0.4, -0.5, 0.1, -0.2, 0.3][i % 5]!)

describe('processChart', () => {
  it('sets no limits before the eighth film, and none where all films are alike', () => {
    expect(processChart(steady(7)).segments).toMatchObject([{ from: 0, to: 7, limits: null, reset: null }])
    expect(processChart(steady(8)).segments[0]!.limits).toMatchObject({ from: 8 })
    expect(processChart(Array(12).fill(3)).segments[0]!.limits).toBeNull()
    expect(processChart([])).toEqual({ segments: [], signals: [] })
  })

  it('keeps the limits of the first 20 films, and says which rule and since when', () => {
    const values = [...steady(25), 14, ...steady(4)]
    const { segments, signals } = processChart(values)
    expect(segments[0]!.limits!.from).toBe(20)
    expect(segments[0]!.limits).toEqual(processChart(values.slice(0, 20)).segments[0]!.limits)
    expect(signals).toEqual([
      { rule: 'limit', since: 25, until: 25, side: 'above' },
      { rule: 'range', since: 25, until: 25, side: null },
      { rule: 'range', since: 26, until: 26, side: null },
    ])
  })

  it('fires just beyond a limit and a step, and not at them', () => {
    const base = steady(20)
    const { upper, mean, rangeLimit } = processChart(base).segments[0]!.limits!
    const rulesOf = (...more: number[]) => processChart([...base, ...more]).signals.map(signal => signal.rule)
    expect(rulesOf(mean, upper * (1 + 1e-9))).toContain('limit')
    expect(rulesOf(mean, upper * (1 - 1e-9))).not.toContain('limit')
    const last = base.at(-1)!
    expect(rulesOf(last - rangeLimit * (1 + 1e-9))).toContain('range')
    expect(rulesOf(last - rangeLimit * (1 - 1e-9))).not.toContain('range')
  })

  it('begins anew at a reset: new limits, no run and no step across it', () => {
    const values = [...steady(20), ...steady(12, 11)]
    const moved = processChart(values)
    expect(moved.signals.map(signal => [signal.rule, signal.since])).toContainEqual(['side', 19])
    const { segments, signals } = processChart(values, [{ at: 20, because: 'new head' }])
    expect(signals).toEqual([])
    expect(segments.map(({ from, to, reset }) => [from, to, reset])).toEqual([
      [0, 20, null],
      [20, 32, 'new head'],
    ])
    expect(segments[1]!.limits!.mean).toBeCloseTo(11 + (0.1 * 2 + 0.4 - 0.5) / 12, 10)
    expect(() => processChart(values, [{ at: 1.5, because: '' }])).toThrow('whole number from 0; got 1.5')
    expect(processChart(values, [{ at: 32, because: 'later than all films' }]).segments).toHaveLength(1)
  })

  it('warns of films that follow their neighbours, and seldom of independent ones', () => {
    const draw = gaussian(5)
    let wander = 0
    const wandering = Array.from({ length: 20 }, () => {
      wander = 0.9 * wander + draw()
      return wander
    })
    expect(processChart(wandering).segments[0]!.autocorrelation).toMatchObject({ tooHigh: true })
    expect(processChart(wandering.slice(1)).segments[0]!.autocorrelation).toBeNull()
    const times = 2000
    let warned = 0
    for (let i = 0; i < times; i++)
      if (processChart(Array.from({ length: 20 }, () => draw())).segments[0]!.autocorrelation!.tooHigh) warned++
    expect(warned / times).toBeLessThan(0.035)
    expect(warned / times).toBeGreaterThan(0.005)
  })

  it('calls a steady process moved as seldom as it says, from few films and from many', () => {
    const draw = gaussian(9)
    const rate = (baseline: number, films: number) => {
      const times = 3000
      const found = { limit: 0, side: 0, twoOfThree: 0, range: 0 }
      for (let i = 0; i < times; i++) {
        const values = Array.from({ length: baseline + films }, () => draw())
        for (const { rule, until } of processChart(values).signals) if (until >= baseline) found[rule]++
      }
      const per1000 = (count: number) => (1000 * count) / (times * films)
      return {
        limit: per1000(found.limit),
        side: per1000(found.side),
        twoOfThree: per1000(found.twoOfThree),
        range: per1000(found.range),
      }
    }
    const full = rate(20, 20)
    // Measured: limit 1.8, side 3.1, two of three 3.6, step 7.6 in 1000.
    expect(full.limit).toBeGreaterThan(1.5)
    expect(full.limit).toBeLessThan(4)
    expect(full.side).toBeLessThan(8)
    expect(full.twoOfThree).toBeLessThan(4.5)
    expect(full.range).toBeLessThan(12)
    expect(full.limit + full.side + full.twoOfThree + full.range).toBeLessThan(25)
  })
})
