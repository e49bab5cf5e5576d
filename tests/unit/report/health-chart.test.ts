import { describe, expect, it } from 'vitest'
import type { HealthSeries } from '../../../src/model/workspace-health.js'
import { healthChart } from '../../../src/report/health-chart.js'

const series = (change: Partial<HealthSeries> = {}): HealthSeries => ({
  name: 'black',
  label: 'Code of no light',
  unit: 'codes',
  decimals: 1,
  points: [210, 212, 230].map((value, i) => ({ at: `2025-0${i + 1}-10T08:00:00Z`, value, standard: 3 })),
  limits: null,
  moves: [],
  ...change,
})
const chart = (change: Partial<HealthSeries> = {}) => healthChart(series(change), 'what it shows').toString()

describe('healthChart', () => {
  it('says in words what it shows, fills the newest value and hatches both sides of 5 %', () => {
    const svg = chart()
    expect(svg).toContain('aria-label="what it shows"')
    expect(svg.match(/<circle/g)).toHaveLength(3)
    expect(
      svg.match(/<circle[^>]*fill="currentColor"[^>]*r="6"|<circle[^>]*r="6"[^>]*fill="currentColor"/g),
    ).toHaveLength(1)
    expect(svg.match(/<rect[^>]*>|url\(#not-allowed\)/g)!.length).toBeGreaterThanOrEqual(2)
    expect(svg).toContain('Code of no light, codes')
  })

  it('draws the limits of its own scatter once they are known', () => {
    const dashed = /stroke-dasharray="7 4"/g
    expect(chart().match(dashed)).toBeNull()
    expect(chart({ limits: { mean: 211, lower: 205, upper: 217 } }).match(dashed)).not.toBeNull()
  })

  it('holds when every value is 0', () => {
    const points = series().points.map(point => ({ ...point, value: 0, standard: null }))
    expect(chart({ points })).not.toMatch(/NaN|Infinity/)
  })
})
