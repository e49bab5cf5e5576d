import { describe, expect, it } from 'vitest'
import type { Calibration, LineSpread } from '../../../src/model/calibration.js'
import { calibrationPage } from '../../../src/report/calibration-page.js'

const SPREAD: LineSpread = { riseWidth: 30.2, riseWidthExpanded: 0.5, stepUm: 10, weights: [0.1, 0.2, 0.4, 0.2, 0.1] }

function calibration(change: Partial<Calibration> = {}): Calibration {
  const densities = [0.05, 0.8, 1.55, 2.3, 3.05]
  const code = (density: number) => 300 + 60_000 * 10 ** -density
  return {
    schema: 'burngate/calibration@1',
    scanner: 'flatbed-a',
    calibratedAt: '2026-01-02T03:04:05.000Z',
    software: 'burngate test',
    tablet: { name: 'nominal-21', nominal: true, sha256: 'a' },
    scan: {
      file: 'tablet.tif',
      sha256: 'abc123',
      dpi: { across: 1200, along: 1200 },
      bits: 16,
      channel: 'grey',
      maker: null,
      model: null,
    },
    steps: densities.map((density, i) => ({
      step: i + 1,
      density,
      expanded: 0.02,
      code: code(density),
      codeError: 0.4,
      pixelNoise: 20,
      trusted: i < 4,
      residual: i === 1 ? -0.004 : 0.002,
      column: 0,
      row: 0,
    })),
    response: {
      knots: densities.slice(0, 4).map(density => ({ code: code(density), density, standardError: 0.001 })),
      black: 300,
      blackError: 1.2,
      gain: 60_000,
      gamma: 1,
      fitResidual: 0.0031,
    },
    openLight: { code: 60_300, clippedShare: 0, pixelNoise: 20 },
    dark: { code: 300.2, codeError: 0.3, pixelNoise: 19 },
    deepest: 2.599,
    sharpness: null,
    warnings: [],
    ...change,
  }
}

describe('calibrationPage', () => {
  it('says how deep the scanner sees, cut and not rounded, and shows every step', () => {
    const page = calibrationPage(calibration())
    expect(page).toContain('down to 2.59 D')
    expect(page).toContain('vouches down to 2.30')
    expect(page.match(/<tr><th scope="row">/g)).toHaveLength(5)
    expect(page).toContain('4 of 5 steps are used')
    expect(page).toContain('−0.004')
    expect(page).toContain('nobody measured its steps')
    expect(page.match(/<svg[^>]*role="img"/g)).toHaveLength(2)
    expect(page).toContain('No edge scan was given')
  })

  it('draws the line spread where it was measured and says where not', () => {
    const sharpness = { sha256: 'b', dpi: { across: 1200, along: 1200 }, across: SPREAD, along: null }
    const page = calibrationPage(calibration({ sharpness }))
    expect(page).toMatch(/30\.2\s±\s0\.5\sµm/)
    expect(page).toContain('not measured')
    expect(page).not.toContain('No edge scan was given')
    expect(page.match(/<svg[^>]*role="img"/g)).toHaveLength(3)
  })

  it('asks for nothing from outside and escapes what came from files', () => {
    const page = calibrationPage(calibration({ warnings: ['<img src=x onerror=alert(1)>'], scanner: 'a"<b>' }))
    expect(page).not.toMatch(/<img src=x|<b>"/)
    expect(page).toContain('&lt;img src&#x3D;x')
    expect(page).not.toMatch(/(src|href)="https?:/)
    expect(page).not.toMatch(/NaN|undefined|Infinity/)
  })
})
