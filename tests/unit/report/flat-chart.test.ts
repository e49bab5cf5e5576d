import { describe, expect, it } from 'vitest'
import type { FlatField } from '../../../src/model/calibration.js'
import { acrossChart, glassChart } from '../../../src/report/flat-chart.js'

const AREAS = [-3.5, 0.5, 1.2, 0.04].map((light, i) => ({
  across: [25, 75][i % 2]!,
  along: [20, 60][i >> 1]!,
  light,
  residual: 0.02,
}))
const FLAT: FlatField = {
  scans: [{ sha256: '0'.repeat(64), kind: 'open', density: 0 }],
  widthMm: 100,
  heightMm: 80,
  terms: [{ across: 2, along: 0, density: 0.02 }],
  standard: 0.0005,
  tested: { left: 0, top: 0, right: 100, bottom: 80 },
  uniformity: { least: -3.5, greatest: 1.2, rms: 1 },
  maskedShare: 0,
  lateral: { share: 0, standard: 0.0175, measured: false },
  tablet: { across: true, along: true },
  areas: AREAS,
}

describe('glassChart', () => {
  it('shows each area’s light as a number, darker where there is less, and says the range in words', () => {
    const svg = String(glassChart(FLAT))
    expect(svg).toContain('from −3.5 to +1.2 percent')
    for (const text of ['−3.5', '+0.5', '+1.2', '0.0']) expect(svg).toContain(`>${text}<`)
    expect(svg).toContain('hsl(0 0% 55%)')
    expect(svg).toContain('hsl(0 0% 100%)')
  })

  it('leaves the numbers out where areas are too narrow for them', () => {
    const areas = Array.from({ length: 12 }, (_, i) => ({ across: i * 8 + 4, along: 40, light: 0.7, residual: 0 }))
    expect(String(glassChart({ ...FLAT, areas }))).not.toContain('>+0.7<')
  })
})

describe('acrossChart', () => {
  it('draws the map along a row and says how far it falls', () => {
    const svg = String(acrossChart(FLAT))
    expect(svg).toContain('falls by 0.020 D')
    expect(svg.match(/<circle/g)).toHaveLength(4)
  })
})
