import * as Plot from '@observablehq/plot'
import { expect, it } from 'vitest'
import { drawChart } from '../../../src/report/draw-chart.js'

it('escapes foreign text in marks and in its own name', () => {
  const hostile = '"><script>alert(1)</script>&'
  const svg = drawChart(hostile, { marks: [Plot.text([hostile], { frameAnchor: 'middle' })] }).toHTML()
  expect(svg).not.toContain('<script')
  expect(svg).toMatch(/^<svg [^>]*aria-label="&quot;/)
})

it('is one SVG with a name, as wide as there is room', () => {
  const svg = drawChart('what it shows', { marks: [Plot.dot([[1, 2]])] }).toHTML()
  expect(svg).toMatch(/^<svg [^>]*viewBox="0 0 340 /)
  expect(svg).not.toMatch(/^<svg [^>]* width=/)
  expect(svg).toMatch(/^<svg aria-label="what it shows" [^>]*role="img"/)
  expect(svg).not.toContain('<style')
})
