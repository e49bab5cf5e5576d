import { expect, it } from 'vitest'
import { edgeChart } from '../../../src/report/edge-chart.js'
import { sampleInspection } from '../../support/sample-inspection.js'

it('draws the profile, its model, both plateaus and the 10 and 90 % marks', async () => {
  const { measured } = await sampleInspection('pass')
  const svg = edgeChart(measured.edges[0]!, 'an edge').toHTML()
  for (const text of ['10 %', '90 %', 'clear 87.5 %', 'solid ']) expect(svg).toContain(text)
  expect(svg).toContain('aria-label="line"')
  expect(svg).not.toContain('NaN')
})

it('joins the dots when no model was fitted', async () => {
  const { measured } = await sampleInspection('uncalibrated')
  const svg = edgeChart(measured.edges[0]!, 'an edge').toHTML()
  expect(svg).toContain('stroke-dasharray="3 3"')
})

it('shows a profile whole when its marks do not part', async () => {
  const { measured } = await sampleInspection('pass')
  const svg = edgeChart({ ...measured.edges[0]!, at10: 20, at90: 20 }, 'an edge').toHTML()
  expect(svg).not.toMatch(/NaN|Infinity/)
  expect(svg).toContain('−200')
})
