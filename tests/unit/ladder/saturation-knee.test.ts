import { describe, expect, it } from 'vitest'
import { saturationKnee } from '../../../src/ladder/saturation-knee.js'
import { expectWithin } from '../../support/expect-within.js'

const levels = [2, 4, 6, 8, 10, 12, 14]
const points = (density: (level: number) => number, standard = 0.01) =>
  levels.map(level => ({ level, density: density(level), standard }))
const ink = (base: number, ceiling: number, scale: number) => (level: number) =>
  base + (ceiling - base) * (1 - Math.exp(-level / scale))

describe('saturationKnee', () => {
  it('is 3.0 scale of a curve of its own form, inside its interval', () => {
    const knee = saturationKnee(points(ink(0.06, 3.8, 3)), 0.06)
    if (knee.kind !== 'found') return expect.fail(knee.kind)
    expectWithin(knee.level, 3 * Math.log(20), {
      abs: 0.1,
      unit: 'level',
      because: 'scales are tried in steps of 1.7 %',
    })
    expect(knee.lower).toBeLessThan(knee.level)
    expect(knee.upper!).toBeGreaterThan(knee.level)
    expectWithin(knee.ceiling.value, 3.8, { abs: 0.02, unit: 'D', because: 'as the scale' })
  })

  it('does not mind a driver whose level 0 lays ink', () => {
    const offset = saturationKnee(
      points(level => ink(0.06, 3.8, 3)(level + 2)),
      0.06,
    )
    if (offset.kind !== 'found') return expect.fail(offset.kind)
    expectWithin(offset.level, 3 * Math.log(20) - 2, {
      abs: 0.15,
      unit: 'level',
      because: 'the same knee, two levels sooner',
    })
  })

  it('lies near the level of 95 % of a law of another form', () => {
    const other = saturationKnee(
      points(level => 0.06 + 3.6 * Math.tanh(level / 5)),
      0.06,
    )
    if (other.kind !== 'found') return expect.fail(other.kind)
    expectWithin(other.level / (5 * Math.atanh(0.95)), 1, {
      abs: 0.25,
      unit: '',
      because: 'the form is not that of the law',
    })
  })

  it('is wider in its interval where readings scatter more than their U says', () => {
    const wide = (noise: number) => {
      const knee = saturationKnee(
        points(level => ink(0.06, 3.8, 3)(level) + noise * (level % 4 === 0 ? 1 : -1)),
        0.06,
      )
      return knee.kind === 'found' ? (knee.upper ?? 1e9) - knee.lower : expect.fail(knee.kind)
    }
    expect(wide(0.05)).toBeGreaterThan(2 * wide(0))
  })

  it('is beyond the levels while density still rises, and untold where it never does or levels are few', () => {
    expect(saturationKnee(points(ink(0.06, 6, 20)), 0.06).kind).toBe('beyond')
    expect(
      saturationKnee(
        points(() => 3),
        0.06,
      ),
    ).toMatchObject({ kind: 'untold', why: expect.stringContaining('does not rise') })
    expect(saturationKnee(points(ink(0.06, 3.8, 3)).slice(0, 3), 0.06)).toMatchObject({
      kind: 'untold',
      why: '3 levels with a density are too few; print at least 4',
    })
    expect(saturationKnee(points(ink(0.06, 3.8, 3)).slice(0, 4), 0.06).kind).not.toBe('untold')
  })

  it('comes at fewer levels on a better coating (common practice, no source)', () => {
    const of = (scale: number) => {
      const knee = saturationKnee(points(ink(0.06, 3.9, scale)), null)
      return knee.kind === 'found' ? knee.level : expect.fail(knee.kind)
    }
    expect(of(2)).toBeLessThan(of(4))
  })
})
