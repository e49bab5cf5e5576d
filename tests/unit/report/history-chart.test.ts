import { expect, it } from 'vitest'
import { historyChart } from '../../../src/report/history-chart.js'

const POINTS = [
  { at: new Date('2025-01-01T08:00:00Z'), value: 30, expanded: 2, bound: null, today: false },
  { at: new Date('2025-02-01T08:00:00Z'), value: 28, expanded: 3, bound: 'atMost' as const, today: false },
  { at: new Date('2025-03-01T08:00:00Z'), value: 34, expanded: 2, bound: null, today: true },
]

it('fills today’s reading only, hatches beyond the limit and says which are bounds', () => {
  const svg = historyChart(POINTS, { max: 60 }, 'µm', 'rise width').toHTML()
  const dots = svg.match(/<circle[^>]*>/g)!
  expect(dots).toHaveLength(3)
  expect(dots.filter(dot => dot.includes('fill="currentColor"'))).toHaveLength(1)
  expect(svg).toContain('url(#not-allowed)')
  expect(svg).toContain('or less ↓')
  expect(svg).not.toContain('NaN')
})

it('needs no limit', () => {
  expect(historyChart(POINTS, null, 'µm', 'rise width').toHTML()).not.toContain('url(#not-allowed)')
})

it('ends a forecast where it leaves the picture: along the rim it would look like a stand-still', () => {
  const at = (month: number) => new Date(Date.UTC(2025, month, 1))
  const band = [-90, 5, 31, 33, 300].map((value, k) => ({ at: at(k), value, low: value - 1, high: value + 1 }))
  const told = (list: typeof band) => historyChart(POINTS, { max: 60 }, 'µm', 'rise width', list).toHTML()
  expect(told(band)).toBe(told(band.slice(2, 4)))
})
