import { describe, expect, it } from 'vitest'
import { type EdgeSpread, superSampleEdge } from '../../../src/imaging/edge-spread.js'
import { lightField } from '../../../src/imaging/light-field.js'
import { normalCdf } from '../../../src/imaging/normal.js'
import { riseWidth } from '../../../src/imaging/rise-width.js'
import type { StraightEdge } from '../../../src/imaging/straight-edges.js'
import { paintedScan } from '../../support/bare-scan.js'
import { expectWithin } from '../../support/expect-within.js'

const SIZE = 300
const edge = (clearSide: 'after' | 'before' = 'after', tan = 0.05): StraightEdge => ({
  from: { column: 150 - 130 * tan, row: 20 },
  to: { column: 150 + 130 * tan, row: 280 },
  direction: 'across',
  clearSide,
  lengthPx: 260,
  clearPx: 60,
  darkPx: 60,
})
const reach = { clearUm: 60, darkUm: 60 }

/** Pitch 1 um, so that pixels read as um. */
function sample(
  light: (d: number, row: number) => number,
  options: { tan?: number; noise?: number; side?: 'after' | 'before' } = {},
) {
  const tan = options.tan ?? 0.05
  const side = options.side ?? 'after'
  const scan = paintedScan(
    SIZE,
    SIZE,
    (c, r) => light(((c - 150 - (r - 150) * tan) / Math.hypot(1, tan)) * (side === 'after' ? 1 : -1), r),
    { noise: options.noise ?? 20 },
  )
  return superSampleEdge(
    lightField(scan.scan, scan.light.transmittance, { across: 1, along: 1 }),
    edge(side, tan),
    reach,
  )
}
const soft = (sigma: number) => (d: number) => 0.001 + 0.9 * normalCdf(d / sigma)
function found(result: ReturnType<typeof sample>): EdgeSpread {
  if ('refused' in result) throw new Error(result.refused)
  return result
}

describe('superSampleEdge', () => {
  it('finds plateaus, tilt and line of a noisy edge, either way round', () => {
    for (const side of ['after', 'before'] as const) {
      const spread = found(sample(soft(3), { side }))
      expectWithin(spread.clear, 0.901, { abs: 2e-4, unit: 'T', because: 'thousands of pixels of noise 0.0003' })
      expectWithin(spread.dark, 0.001, { abs: 2e-4, unit: 'T', because: 'thousands of pixels of noise 0.0003' })
      expectWithin(spread.tilt, (Math.atan(0.05) * 180) / Math.PI, { abs: 0.01, unit: 'degrees', because: '260 lines' })
      expect(spread.plateauReached).toBe(true)
      expect(spread.linesLeftOut).toBe(0)
      expect(spread.phaseCoverage).toBe(1)
      expectWithin(riseWidth(spread)!.width, 2.5631 * 3, {
        abs: 0.02,
        unit: 'px',
        because: 'eighth-pixel bins add 0.003',
      })
    }
  })

  it('a softer edge has a wider rise (relation)', () => {
    const widths = [2, 3, 5, 8].map(sigma => riseWidth(found(sample(soft(sigma))))!.width)
    for (let i = 1; i < widths.length; i++) expect(widths[i]!).toBeGreaterThan(widths[i - 1]!)
  })

  it('leaves out lines that dust lies on', () => {
    const clean = riseWidth(found(sample(soft(3))))!.width
    const dusty = found(sample((d, row) => (row > 100 && row < 110 && Math.abs(d) < 12 ? 0.3 : soft(3)(d))))
    expect(dusty.linesLeftOut).toBeGreaterThanOrEqual(7)
    expectWithin(riseWidth(dusty)!.width, clean, { abs: 0.05, unit: 'px', because: 'the dusty lines are gone' })
  })

  it('follows a curved edge and tells its sag', () => {
    const bend = (row: number) => 1.5 * ((row - 150) / 130) ** 2
    const spread = found(sample((d, row) => soft(3)(d - bend(row))))
    expectWithin(spread.sagUm, 1.5, { abs: 0.15, unit: 'px', because: 'a parabola over 260 lines' })
    expectWithin(riseWidth(spread)!.width, 2.5631 * 3, { abs: 0.06, unit: 'px', because: 'the curve was followed' })
  })

  it('says when phases are not covered', () => {
    expect(found(sample(soft(3), { tan: 0.0005 })).phaseCoverage).toBeLessThan(0.6)
  })

  it('says when the edge is wider than the room beside it', () => {
    expect(found(sample(soft(25))).plateauReached).toBe(false)
  })

  it('refuses an edge without contrast, too short, or damaged along much of its length', () => {
    expect(sample(() => 0.5)).toEqual({ refused: 'the two sides of the edge are not told apart' })
    const scan = paintedScan(SIZE, SIZE, c => soft(3)(c - 150))
    const field = lightField(scan.scan, scan.light.transmittance, { across: 1, along: 1 })
    const short = { ...edge('after', 0), from: { column: 150, row: 20 }, to: { column: 150, row: 30 } }
    expect(superSampleEdge(field, short, reach)).toEqual({ refused: 'the edge lies too near the rim of the scan' })
    const enough = { ...short, to: { column: 150, row: 37 } }
    expect('refused' in superSampleEdge(field, enough, reach)).toBe(false)
    const ragged = sample((d, row) => soft(3)(d - (Math.floor(row / 20) % 3 === 0 ? 14 : 0)))
    expect('refused' in ragged || ragged.linesLeftOut > 30 || Math.max(...ragged.shifts) > 3).toBe(true)
  })
})

describe('riseWidth', () => {
  it('is not made where the profile never crosses both levels', () => {
    const spread = found(sample(soft(3)))
    expect(riseWidth({ ...spread, clear: 1.5 })).toBeUndefined()
  })

  it('states an uncertainty that grows with noise', () => {
    const quiet = riseWidth(found(sample(soft(3), { noise: 5 })))!.standard
    const loud = riseWidth(found(sample(soft(3), { noise: 400 })))!.standard
    expect(loud).toBeGreaterThan(3 * quiet)
  })
})
