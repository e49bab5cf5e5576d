import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { scaleChart } from '../../../src/report/scale-chart.js'

const INPUT = {
  told: 'Solid density',
  value: 3.1,
  expanded: 0.05,
  bound: null,
  limit: { min: 3, aim: 3.8 },
  minText: 'at least 3.00 D',
  maxText: '',
  aimText: 'aim 3.80 D',
} as const

describe('scaleChart', () => {
  it('hatches what is not allowed and names limit and aim', () => {
    const svg = scaleChart(INPUT).toHTML()
    expect(svg.match(/url\(#not-allowed\)/g)).toHaveLength(1)
    expect(svg).toContain('at least 3.00 D')
    expect(svg).toContain('aim 3.80 D')
  })

  it('draws a bound as an arrow, a value as an interval', () => {
    expect(scaleChart(INPUT).toHTML()).not.toContain('aria-label="arrow"')
    expect(scaleChart({ ...INPUT, bound: 'atLeast' }).toHTML()).toContain('aria-label="arrow"')
    expect(scaleChart({ ...INPUT, bound: 'atMost' }).toHTML()).toContain('aria-label="arrow"')
  })

  it('needs no limit, and draws any finite reading without a number missing', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1000, noNaN: true }),
        fc.double({ min: 0, max: 100, noNaN: true }),
        fc.constantFrom(null, 'atLeast' as const, 'atMost' as const),
        fc.constantFrom(null, { min: 3 }, { max: 60 }, { min: 1, max: 2, aim: 1.5 }),
        (value, expanded, bound, limit) => {
          const svg = scaleChart({ ...INPUT, value, expanded, bound, limit }).toHTML()
          expect(svg).not.toMatch(/NaN|Infinity|undefined/)
        },
      ),
      { numRuns: 40 },
    )
  })
})
