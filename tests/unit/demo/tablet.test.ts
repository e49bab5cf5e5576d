import { describe, expect, it } from 'vitest'
import { type BedScan, filmToPixel, scanLight } from '../../../src/demo/scanner.js'
import { demoScans } from '../../../src/demo/shop.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { expectWithin } from '../../support/expect-within.js'

const scanner = demoScans()[0]!.scan.scanner

describe('stepTablet', () => {
  it.each([0.7, 90.7, 181, 268.9])('every step has its own density, lying at %d degrees', turnDegrees => {
    const tablet = stepTablet({ densities: evenSteps(21, 0.15), stepMm: 1.2, widthMm: 4, marginMm: 1 })
    const scan: BedScan = {
      scanner,
      bedWidthMm: 32,
      bedHeightMm: 32,
      film: tablet.film,
      placement: { acrossMm: 16, alongMm: 16, turnDegrees, mirrored: false },
      holder: null,
      seed: 1,
    }
    const { light, width } = scanLight(scan)
    tablet.centres.forEach(({ u, v }, i) => {
      const { column, row } = filmToPixel(scan, u, v)
      const seen = -Math.log10(light[Math.round(row) * width + Math.round(column)]!)
      expectWithin(seen, tablet.densities[i]!, { abs: 1e-6, unit: 'D', because: 'a step is flat in its middle' })
    })
    const margin = filmToPixel(scan, 0.5, 0.5)
    const seen = -Math.log10(light[Math.round(margin.row) * width + Math.round(margin.column)]!)
    expectWithin(seen, 0.04, { abs: 1e-6, unit: 'D', because: 'the clear margin' })
  })

  it('takes any certificate, even one that is out of order', () => {
    const densities = [0.05, 0.4, 0.3, 2.9]
    expect(stepTablet({ densities, stepMm: 5, widthMm: 10 }).densities).toEqual(densities)
    expect(certificateCsv(densities, 0.02)).toBe(
      'step,density,expanded\n1,0.050,0.020\n2,0.400,0.020\n3,0.300,0.020\n4,2.900,0.020\n',
    )
  })

  it('refuses one step, a density below 0 or past 8, and steps without size', () => {
    expect(() => stepTablet({ densities: [0.05], stepMm: 5, widthMm: 10 })).toThrow('2 steps or more; got 1')
    expect(() => stepTablet({ densities: [-0.01, 1], stepMm: 5, widthMm: 10 })).toThrow('0 to 8')
    expect(() => stepTablet({ densities: [0, Number.NaN], stepMm: 5, widthMm: 10 })).toThrow('0 to 8')
    expect(() => stepTablet({ densities: [0, 1], stepMm: 0, widthMm: 10 })).toThrow('stepMm')
    expect(stepTablet({ densities: [0, 8], stepMm: 0.1, widthMm: 10 }).densities.length).toBe(2)
  })
})
