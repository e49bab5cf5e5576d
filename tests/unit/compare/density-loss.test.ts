import { describe, expect, it } from 'vitest'
import { densityLoss } from '../../../src/compare/density-loss.js'
import type { LightScale } from '../../../src/model/light.js'
import type { Patch } from '../../../src/model/located.js'
import { linearLight, paintedScan } from '../../support/bare-scan.js'
import { expectWithin } from '../../support/expect-within.js'

const PATCHES: readonly Patch[] = [20, 120, 220].map((column, i) => ({
  id: `solid-${i + 1}`,
  kind: 'solid',
  area: i,
  rect: { column, row: 30, width: 60, height: 40 },
}))
/** The film lies 20 columns further right and 10 rows lower, um at 600 dpi. */
const MOVED = { x0: (20 * 25_400) / 600, y0: (10 * 25_400) / 600, xx: 1, yx: 0, xy: 0, yy: 1 }
const OTHER = { sameCalibration: false, sameTablet: false }

/** A scale that knows its tablet to 0.02 D, its curve to 0.01 D and the lamp to 0.004 D. */
function scale(deepest = 3.5): LightScale {
  const bare = linearLight(deepest)
  return {
    ...bare,
    density(code, error) {
      const told = bare.density(code, error)
      const budget = [
        ...told.budget,
        { name: 'tablet', standard: 0.02 },
        { name: 'fit', standard: 0.01 },
        { name: 'light drift', standard: 0.004 },
      ]
      return { ...told, budget }
    },
  }
}

function page(densities: readonly number[], moved: boolean, deepest?: number) {
  const [right, down] = moved ? [20, 10] : [0, 0]
  return paintedScan(
    340,
    110,
    (column, row) => {
      const i = PATCHES.findIndex(
        ({ rect }) =>
          Math.abs(column - right - rect.column - rect.width / 2) < 45 &&
          Math.abs(row - down - rect.row - rect.height / 2) < 30,
      )
      return i < 0 ? 0.9 : 10 ** -densities[i]!
    },
    { noise: 8, scale: scale(deepest) },
  )
}

describe('densityLoss', () => {
  const before = page([2, 2.2, 1.8], false)

  it('is what the same places lost, wherever the film lies', () => {
    const loss = densityLoss(before, page([1.9, 2.1, 1.7], true), PATCHES, MOVED, OTHER)
    if (!('value' in loss)) expect.fail(loss.because)
    expectWithin(loss.value, 0.1, { abs: 0.002, unit: 'D', because: 'noise of 8 codes over 1500 pixels at code 378' })
    expect(loss).toMatchObject({ unit: 'D', bound: null, n: 3 })
    expect(loss.parts.map(part => part.id)).toEqual(['solid-1', 'solid-2', 'solid-3'])
    expectWithin(loss.parts[0]!.place.column, 20 + 29.5 + 20, { abs: 0.01, unit: 'px', because: 'on the new scan' })
  })

  it('counts what two calibrations do not share, and only what is each scan’s own when they are one', () => {
    const after = page([2, 2.2, 1.8], true)
    const of = (known: typeof OTHER) => {
      const loss = densityLoss(before, after, PATCHES, MOVED, known)
      if (!('value' in loss)) expect.fail(loss.because)
      const named = Object.fromEntries(loss.budget.map(({ name, standard }) => [name, standard]))
      return { ...named, expanded: loss.expanded } as Record<string, number>
    }
    const apart = of(OTHER)
    for (const [name, one] of [
      ['tablet', 0.02],
      ['fit', 0.01],
      ['light drift', 0.004],
    ] as const)
      expectWithin(apart[name]!, one * Math.SQRT2, { abs: 1e-9, unit: 'D', because: 'two scans, root of the sum' })
    const tablet = of({ sameCalibration: false, sameTablet: true })
    expect([tablet.tablet, tablet.fit]).toEqual([0, 0.01 * Math.SQRT2])
    const same = of({ sameCalibration: true, sameTablet: true })
    expect([same.tablet, same.fit]).toEqual([0, 0])
    expect(same['light drift']).toBeCloseTo(0.004 * Math.SQRT2, 9)
    expect(same.expanded).toBeLessThan(apart.expanded! / 3)
  })

  it('is a bound where one scan is deeper than can be told, and no number where both are', () => {
    const lost = densityLoss(page([3, 3, 3], false, 2.5), page([2, 2, 2], true, 2.5), PATCHES, MOVED, OTHER)
    expect(lost).toMatchObject({ bound: 'atLeast' })
    if ('value' in lost) expectWithin(lost.value, 0.5, { abs: 0.002, unit: 'D', because: 'from the deepest told' })
    const gained = densityLoss(page([2, 2, 2], false, 2.5), page([3, 3, 3], true, 2.5), PATCHES, MOVED, OTHER)
    expect(gained).toMatchObject({ bound: 'atMost' })
    const deep = densityLoss(page([3, 3, 3], false, 2.5), page([3, 3, 3], true, 2.5), PATCHES, MOVED, OTHER)
    expect(deep).toMatchObject({ because: expect.stringContaining('deeper than the scanner can tell') })
  })

  it('says when there is nothing to compare: no solid, or none in view', () => {
    expect(densityLoss(before, before, [], MOVED, OTHER)).toMatchObject({
      because: expect.stringContaining('no solid'),
    })
    const away = { ...MOVED, x0: 50_000 }
    expect(densityLoss(before, before, PATCHES, away, OTHER)).toMatchObject({
      because: expect.stringContaining('in view'),
    })
  })
})
