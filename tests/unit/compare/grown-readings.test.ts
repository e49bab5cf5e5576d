import { describe, expect, it } from 'vitest'
import { grownReadings } from '../../../src/compare/grown-readings.js'
import { fringeWidth, halfLightShift } from '../../../src/demo/truth.js'
import type { LadderReadings } from '../../../src/model/ladder.js'
import type { Bound, Reading, Unit } from '../../../src/model/reading.js'

const read = (value: number, unit: Unit, expanded: number, bound: Bound | null = null): Reading => ({
  value,
  unit,
  expanded,
  bound,
  n: 1,
  parts: [],
  budget: [],
  method: 'test',
})

/** What a scan would read of an edge, to the last digit. */
function readingsOf(netDensity: number, inkSpreadUm: number, deepest = 9): LadderReadings {
  const edge = { baseDensity: 0.06, netDensity, inkSpreadUm }
  const solid = edge.baseDensity + netDensity
  return {
    baseDensity: read(edge.baseDensity, 'D', 0.01),
    solidDensity: solid > deepest ? read(deepest, 'D', 0.02, 'atLeast') : read(solid, 'D', 0.02),
    inkSpread: read(inkSpreadUm, 'um', 0.4),
    fringeWidth: read(fringeWidth(edge, 0.3, 2.7)!, 'um', 1.2),
  }
}

const shift = (netDensity: number, inkSpreadUm: number) => halfLightShift({ baseDensity: 0, netDensity, inkSpreadUm })

describe('what grew between two readings of a print', () => {
  it.each([
    { net: 3, spread: [20, 34], left: 3, what: 'ink that crept' },
    { net: 3.2, spread: [20, 20], left: 2.9, what: 'ink that faded and did not creep' },
    { net: 3.4, spread: [18, 40], left: 3.1, what: 'both' },
  ] as const)('tells $what by the contour of half light, in closed form', ({ net, spread, left }) => {
    const { readings, notMeasured } = grownReadings(readingsOf(net, spread[0]), readingsOf(left, spread[1]))
    expect(notMeasured).toEqual([])
    // The rule for sigmas takes half of clear light, the film half way to its solid's: 0.43 x 10^-3.1 D, at 75 um a D (40 um at D 3.1).
    expect(Math.abs(readings.edgeGrowth!.value - (shift(left, spread[1]) - shift(net, spread[0])))).toBeLessThan(0.03)
    expect(readings.densityLoss!.value).toBeCloseTo(net - left, 10)
    expect(readings.fringeGrowth!.value).toBeCloseTo(
      readingsOf(left, spread[1]).fringeWidth!.value - readingsOf(net, spread[0]).fringeWidth!.value,
      10,
    )
  })

  it('has the U of both readings, and of the density that says where the contour lies', () => {
    const [before, after] = [readingsOf(3, 20), readingsOf(3, 30)]
    const { edgeGrowth } = grownReadings(before, after).readings
    const spreads = shift(3, 1) * 0.4 * Math.SQRT2
    expect(edgeGrowth!.expanded).toBeGreaterThan(spreads)
    expect(edgeGrowth!.expanded).toBeLessThan(1.1 * spreads)
    const vague = { ...after, solidDensity: read(3.06, 'D', 0.4) }
    // JCGM 100:2008, 5.1.2: the change by density times its U, in quadrature.
    const slope = (shift(3.001, 30) - shift(2.999, 30)) / 0.002
    expect(grownReadings(before, vague).readings.edgeGrowth!.expanded).toBeCloseTo(
      Math.hypot(edgeGrowth!.expanded, slope * 0.4),
      1,
    )
  })

  it('holds the truth of ink that is blacker than the scanner tells', () => {
    for (const net of [2.9, 3.3, 3.8, 4.3]) {
      const { edgeGrowth, densityLoss } = grownReadings(readingsOf(net, 20, 2.9), readingsOf(net, 34, 2.9)).readings
      const truly = shift(net, 34) - shift(net, 20)
      expect(Math.abs(edgeGrowth!.value - truly)).toBeLessThanOrEqual(edgeGrowth!.expanded)
      expect(densityLoss).toBeUndefined()
    }
  })

  it('tells nothing of edges without a spread', () => {
    const after = { ...readingsOf(3, 30), inkSpread: read(12, 'um', 1, 'atMost') }
    const { readings, notMeasured } = grownReadings(readingsOf(3, 20), after)
    expect(readings.edgeGrowth).toBeUndefined()
    expect(notMeasured.map(({ reading }) => reading)).toEqual(['edgeGrowth'])
  })
})
