import { describe, expect, it } from 'vitest'
import { seenFall } from '../../../src/calibrate/seen-fall.js'
import { seededRandom } from '../../../src/demo/random.js'
import { expectWithin } from '../../support/expect-within.js'

const COLUMNS = 120
const ROWS = 90

/** Open light in a rim of 10 cells, film of D 0.05 inside with a solid in it that takes no part; `fall` in D, u and v -1 to 1. */
function bed(fall: (u: number, v: number) => number, noise = 0.0005) {
  const random = seededRandom(4)
  const light = new Float64Array(COLUMNS * ROWS)
  const group = new Uint8Array(COLUMNS * ROWS)
  for (let r = 0; r < ROWS; r++)
    for (let c = 0; c < COLUMNS; c++) {
      const at = r * COLUMNS + c
      const film = c >= 10 && r >= 10 && c < COLUMNS - 10 && r < ROWS - 10
      const solid = c > 40 && c < 70 && r > 30 && r < 60
      const density = solid ? 2 : film ? 0.05 : 0
      const dimmer = fall((2 * (c + 0.5)) / COLUMNS - 1, (2 * (r + 0.5)) / ROWS - 1)
      light[at] = 10 ** -(density + dimmer + noise * random.normal())
      group[at] = solid ? 0 : film ? 2 : 1
    }
  return { light, group }
}

describe('seenFall', () => {
  it('finds the fall of light that film and glass share, each at its own level', () => {
    const fall = (u: number, v: number) => 0.02 * u * u + 0.004 * v - 0.003 * u * v
    const { light, group } = bed(fall)
    const seen = seenFall(COLUMNS, ROWS, light, group, [1, 2])!
    const at = (c: number, r: number) => seen.at(c, r) - seen.at(59.5, 44.5)
    const because = 'thousands of cells of noise 0.0005'
    expectWithin(at(119, 44.5), fall(239 / 120 - 1, 0), { abs: 0.0005, unit: 'D', because })
    expectWithin(at(59.5, 0), fall(0, 1 / 90 - 1), { abs: 0.0005, unit: 'D', because })
    expect(seen.most).toBeGreaterThan(0.01)
  })

  it('sees none where there is none', () => {
    const { light, group } = bed(() => 0)
    expect(seenFall(COLUMNS, ROWS, light, group, [1, 2])!.most).toBeLessThan(0.0003)
  })

  it('says nothing of a few cells', () => {
    const { light, group } = bed(() => 0)
    const few = group.map((g, i) => (i < 14 * COLUMNS ? g : 0))
    expect(seenFall(COLUMNS, ROWS, light, few, [1, 2])).not.toBeNull()
    expect(
      seenFall(
        COLUMNS,
        ROWS,
        light,
        group.map((g, i) => (i < 5 * COLUMNS ? g : 0)),
        [1, 2],
      ),
    ).toBeNull()
  })
})
