import { expect, it } from 'vitest'
import { responseChart } from '../../../src/report/response-chart.js'
import { sampleCalibration } from '../../support/sample-inspection.js'

it('shows each tablet step, the trusted ones filled, and how deep the scanner sees', () => {
  const calibration = sampleCalibration()
  const svg = responseChart(calibration).toHTML()
  const dots = svg.match(/<circle[^>]*>/g)!
  expect(dots).toHaveLength(21)
  expect(dots.filter(dot => dot.includes('fill="currentColor"'))).toHaveLength(
    calibration.steps.filter(s => s.trusted).length,
  )
  expect(svg).toContain('down to 3.31 D')
  expect(svg).not.toContain('NaN')
})
