import { describe, expect, it } from 'vitest'
import { patchCodes } from '../../../src/calibrate/step-codes.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'
import { normals, seeded } from './tablet-raster.js'

const SIDE = 240

function page(code: (column: number, row: number) => number) {
  const codes = Uint16Array.from({ length: SIDE * SIDE }, (_, i) => Math.round(code(i % SIDE, Math.floor(i / SIDE))))
  return memoryScan(codes, SIDE, SIDE, 600)
}
const PATCH = { centre: { column: 120, row: 120 }, axis: { column: 1, row: 0 }, halfAlong: 100, halfAcross: 100 }

describe('patchCodes', () => {
  it('gives mean, pixel noise and a standard error that holds', () => {
    const normal = normals(seeded(1))
    const seen = patchCodes(
      page(() => 20_000 + 40 * normal()),
      PATCH,
      42.3,
    )!
    expectWithin(seen.code, 20_000, { abs: 1, unit: 'codes', because: 'five standard errors of 40 / 200' })
    expectWithin(seen.pixelNoise, 40, { abs: 1.5, unit: 'codes', because: 'median of 64 block variances' })
    expectWithin(seen.codeError, 0.2, {
      abs: 0.08,
      unit: 'codes',
      because: '64 blocks tell a deviation to 9 %, trimmed',
    })
  })

  it('counts correlation between neighbours: noise shared by 5 x 5 pixels is five times the error', () => {
    const normal = normals(seeded(2))
    const coarse = Array.from({ length: 48 * 48 }, () => 40 * normal())
    const seen = patchCodes(
      page((c, r) => 20_000 + coarse[Math.floor(r / 5) * 48 + Math.floor(c / 5)]!),
      PATCH,
      42.3,
    )!
    expectWithin(seen.codeError, 1, { abs: 0.35, unit: 'codes', because: 'five times 40 / 200' })
  })

  it('is not moved by a hair across the patch', () => {
    const normal = normals(seeded(3))
    const seen = patchCodes(
      page((c, r) => (Math.abs(c - r - 30) < 2 && r < 120 ? 2000 : 20_000 + 40 * normal())),
      PATCH,
      42.3,
    )!
    expectWithin(seen.code, 20_000, { abs: 2, unit: 'codes', because: 'the plain mean would be some 90 codes lower' })
  })

  it('counts clipped pixels and follows a turned axis', () => {
    const seen = patchCodes(
      page((c, r) => (c + r > 240 ? 65_535 : 0)),
      {
        ...PATCH,
        axis: { column: Math.SQRT1_2, row: Math.SQRT1_2 },
        centre: { column: 120, row: 120 },
        halfAlong: 40,
        halfAcross: 40,
      },
      42.3,
    )!
    expectWithin(seen.fullShare, 0.5, { abs: 0.02, unit: '1', because: 'half of the turned square' })
    expectWithin(seen.zeroShare, 0.5, { abs: 0.02, unit: '1', because: 'the other half' })
  })

  it('says null when the patch leaves the page or is too small for blocks', () => {
    const flat = page(() => 1000)
    expect(patchCodes(flat, { ...PATCH, centre: { column: 99, row: 120 } }, 42.3)).toBeNull()
    expect(patchCodes(flat, { ...PATCH, centre: { column: 100, row: 120 } }, 42.3)).not.toBeNull()
    expect(patchCodes(flat, { ...PATCH, halfAlong: 2, halfAcross: 2 }, 42.3)).toBeNull()
  })
})
