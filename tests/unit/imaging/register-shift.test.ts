import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { lightField } from '../../../src/imaging/light-field.js'
import { type RegisteredShift, registerShift } from '../../../src/imaging/register-shift.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'

const SIDE = 700
const UM = { across: 21.17, along: 21.17 }
const table = Float32Array.from({ length: 65536 }, (_, code) => (code - 300) / 50_000)

/** Soft-edged blots laid in closed form, so that any shift, turn and exposure is exact. */
function picture(plan: {
  column?: number
  row?: number
  turn?: number
  exposure?: number
  noise?: number
  seed?: number
  film?: number
  blots?: boolean
}) {
  const { column = 0, row = 0, turn = 0, exposure = 1, noise = 12, seed = 1, film = 5, blots = true } = plan
  const layout = seededRandom(film)
  const boxes = Array.from({ length: 40 }, () => ({
    x: layout.between(40, 660),
    y: layout.between(40, 660),
    w: layout.between(8, 60),
    h: layout.between(8, 60),
  }))
  const random = seededRandom(seed)
  const codes = new Uint16Array(SIDE * SIDE)
  const rise = (d: number) => 1 / (1 + Math.exp(-d / 0.9))
  const ink = new Float64Array(SIDE * SIDE)
  if (blots)
    for (const box of boxes)
      for (let r = 0; r < SIDE; r++) {
        const v = r - row
        if (Math.abs(v - box.y) > box.h + 30) continue
        for (let c = 0; c < SIDE; c++) {
          const x = c - column + turn * (r - 350)
          const y = v - turn * (c - 350)
          if (Math.abs(x - box.x) > box.w + 12) continue
          ink[r * SIDE + c]! += rise(box.w / 2 - Math.abs(x - box.x)) * rise(box.h / 2 - Math.abs(y - box.y))
        }
      }
  for (let i = 0; i < ink.length; i++) {
    const light = 0.9 * (1 - Math.min(1, ink[i]!)) + 1e-4
    const code = 300 + 50_000 * exposure * light + noise * random.normal()
    codes[i] = Math.max(0, Math.min(65535, Math.round(code)))
  }
  return memoryScan(codes, SIDE, SIDE, 1200)
}

function shiftBetween(a: ReturnType<typeof picture>, b: ReturnType<typeof picture>, clip = 1.15) {
  return registerShift(lightField(a, table, UM), lightField(b, table, UM), blockOverview(a, 8, table), { clip })
}

const because = 'the shift wanted is 0.2 px; a quarter of that'

describe('registerShift', () => {
  const still = picture({})
  for (const [column, row, exposure] of [
    [0, 0, 1],
    [0.5, -0.5, 4],
    [3.27, -7.81, 4],
    [-12.4, 18.6, 16],
    [19.7, 19.3, 16],
  ] as const)
    it(`finds ${column}, ${row} at exposure ${exposure}`, () => {
      const moved = picture({ column, row, exposure, seed: 2 })
      const found = shiftBetween(still, moved) as RegisteredShift
      expectWithin(found.shift.column, column, { abs: 0.05, unit: 'px', because })
      expectWithin(found.shift.row, row, { abs: 0.05, unit: 'px', because })
      expect(found.correlation).toBeGreaterThan(0.95)
      expect(found.disagreement).toBeLessThan(0.1)
      expect(found.standard.column).toBeLessThan(0.02)
    })

  it('moving the second the other way turns the answer round', () => {
    const moved = picture({ column: 2.3, row: 1.6, seed: 3 })
    const there = shiftBetween(still, moved) as RegisteredShift
    const back = shiftBetween(moved, still) as RegisteredShift
    expectWithin(there.shift.column + back.shift.column, 0, { abs: 0.05, unit: 'px', because })
    expectWithin(there.shift.row + back.shift.row, 0, { abs: 0.05, unit: 'px', because })
  })

  it('tells another film, and a film without structure', () => {
    const other = shiftBetween(still, picture({ film: 77 }))
    expect(other).toMatchObject({ refused: 'noMatch' })
    const blank = picture({ blots: false })
    expect(shiftBetween(blank, blank)).toMatchObject({ refused: 'noStructure' })
  })

  it('hears a turn as disagreement between windows', () => {
    const turned = shiftBetween(still, picture({ turn: 0.004 })) as RegisteredShift
    expect(turned.disagreement).toBeGreaterThan(0.5)
    const hardly = shiftBetween(still, picture({ turn: 0.0003 })) as RegisteredShift
    expect(hardly.disagreement).toBeLessThan(0.5)
  })

  it('tells the ratio as well, of marks on clear film that only the darker holds', () => {
    const found = shiftBetween(still, picture({ column: 1.4, row: -0.7, exposure: 5.5, seed: 4 })) as RegisteredShift
    expectWithin(found.ratio / 5.5, 1, { abs: 0.01, unit: '', because: '1 % is 0.004 D' })
    expectWithin(found.ratio / 5.5, 1, { abs: 4 * (found.ratioStandard ?? 0), unit: '', because: 'its own scatter' })
  })

  it('refuses a clip level that cannot be', () => {
    expect(() => shiftBetween(still, still, Number.NaN)).toThrow(/clip must be above 0; got NaN/)
    expect(() => shiftBetween(still, still, 0)).toThrow(/clip must be above 0; got 0/)
  })
})
