import { describe, expect, it } from 'vitest'
import { ladderRow, rowBands } from '../../../src/demo/ladder.js'
import { DEMO_LADDER_PLAN, demoLadder } from '../../../src/demo/shop-ladder.js'
import { parseLadderPlan } from '../../../src/settings/ladder-plan.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'

const plan = parseLadderPlan(DEMO_LADDER_PLAN, 'spring-films.yaml')
const scans = demoLadder()

describe('the ladder of the demo', () => {
  it('is 2 stocks x 3 modes x 8 levels, one row a scan, as its plan says', () => {
    expect([plan.stocks.length, plan.modes.length, plan.levels.length]).toEqual([2, 3, 8])
    expect(scans.map(scan => scan.fileName)).toEqual(
      plan.stocks.flatMap(stock => plan.modes.map(({ name }) => `${stock}__${name}.tif`)),
    )
    for (const scan of scans) expect(scan.steps.map(step => step.level)).toEqual(plan.levels)
  })

  it('keeps to the facts of the trade (common practice, no source)', () => {
    for (const { steps } of scans) {
      for (let i = 1; i < steps.length; i++) {
        expect(steps[i]!.netDensity).toBeGreaterThan(steps[i - 1]!.netDensity)
        expect(steps[i]!.banding).toBeLessThan(steps[i - 1]!.banding)
        expect(steps[i]!.inkSpreadUm).toBeGreaterThanOrEqual(steps[i - 1]!.inkSpreadUm)
      }
    }
    const of = (stock: string, mode: string) => scans.find(s => s.stock === stock && s.mode === mode)!.steps
    const blackAt = (steps: (typeof scans)[number]['steps']) =>
      steps.find(s => s.baseDensity + s.netDensity >= 3)!.level
    expect(blackAt(of('stock-a', 'fast'))).toBeLessThan(blackAt(of('stock-b', 'fast')))
    expect(of('stock-a', 'fine')[0]!.raggednessUm).toBeLessThan(of('stock-a', 'draft')[0]!.raggednessUm)
    // Fewer passes at lower resolution need more ink to lose their banding.
    const evenAt = (steps: (typeof scans)[number]['steps']) => steps.find(s => s.banding < 0.02)?.level ?? Infinity
    expect(evenAt(of('stock-a', 'draft'))).toBeGreaterThan(evenAt(of('stock-a', 'fast')))
  })
})

describe('ladderRow', () => {
  it('lays one patch a tile beside the other, and hands all rows out in bands', () => {
    const row = ladderRow(QUICK_SCANNER, scans[0]!.steps.slice(0, 3), { pitchMm: 9, patchMm: 6, turnDegrees: 0.5 }, 3)
    expect(row.codes.length).toBe(row.width * row.height)
    const bands = [...rowBands(row)]
    expect(bands.reduce((sum, band) => sum + band.height, 0)).toBe(row.height)
    const middle = row.codes.subarray((row.height >> 1) * row.width, ((row.height >> 1) + 1) * row.width)
    const patch = (i: number) => middle[Math.round(((i + 0.5) * row.width) / 3)]!
    expect(patch(0)).toBeGreaterThan(patch(1))
    expect(patch(1)).toBeGreaterThan(patch(2))
    expect(middle[Math.round(row.width / 3)]!).toBeGreaterThan(0.8 * 56_000)
  })
})
