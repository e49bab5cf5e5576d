import { describe, expect, it } from 'vitest'
import { spectrumChart } from '../../../src/report/spectrum-chart.js'

const frequency = Array.from({ length: 60 }, (_, i) => i * 0.05)
const profile = {
  id: 'area-1',
  direction: 'down the page' as const,
  frequency,
  amplitude: frequency.map(f => 3 * Math.exp(-(((f - 0.8) / 0.08) ** 2))),
  noise: frequency.map(() => 0.05),
  longestMm: 4,
  pitchMm: 1.25,
}

describe('spectrumChart', () => {
  it('names its peak by the pitch, and says what it shows', () => {
    const svg = spectrumChart(profile, 'Spectrum of A1').toString()
    expect(svg).toContain('every 1.25 mm')
    expect(svg).toContain('aria-label="Spectrum of A1"')
    expect(svg).toContain('bands in a millimetre')
  })

  it('marks no peak where none stands out', () => {
    expect(spectrumChart({ ...profile, pitchMm: null }, 'x').toString()).not.toContain('every')
  })
})
