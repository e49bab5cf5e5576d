import { describe, expect, it } from 'vitest'
import { surroundings } from '../../../src/locate/spot-surroundings.js'
import { BLACK, CLEAR, spotAt, spotsOf } from '../../support/spot-list.js'

const UM = 25_400 / 600
const hole = (c: number, r: number) => (c - 200) ** 2 + (r - 200) ** 2 <= 9

/** A hole of six pixels in ink that lies where the rule says. */
function holeIn(ink: (c: number, r: number) => boolean) {
  const { light, overview } = spotsOf(400, 400, (c, r) => (hole(c, r) || !ink(c, r) ? CLEAR : BLACK))
  const i = spotAt(light, 200, 200)
  return { light, i, round: surroundings(overview, BLACK, CLEAR - BLACK, UM) }
}

describe('surroundings', () => {
  it('tells how much of the ring round a spot is ink', () => {
    const wide = holeIn(() => true)
    expect(wide.round.ink(wide.light, wide.i, 1)).toBeGreaterThan(0.999)
    const half = holeIn((_, r) => r < 212)
    const share = half.round.ink(half.light, half.i, 3)
    // The ring of 3.5 pixels and three diameters of 6.1 has its lower third beyond the edge, 12 pixels away.
    expect(Math.abs(share - (1 - Math.acos(12 / 21.8) / Math.PI))).toBeLessThan(0.06)
  })

  it('calls a ground plain that is of one kind three diameters out', () => {
    const plain = (ink: (c: number, r: number) => boolean) => {
      const { light, i, round } = holeIn(ink)
      return round.plain(light, i, false)
    }
    expect(plain(() => true)).toBe(true)
    expect(plain((_, r) => Math.abs(r - 200) < 40)).toBe(true)
    expect(plain((_, r) => Math.abs(r - 200) < 16)).toBe(false)
    const speck = spotsOf(400, 400, (c, r) => (hole(c, r) ? BLACK : CLEAR))
    const round = surroundings(speck.overview, BLACK, CLEAR - BLACK, UM)
    expect(round.plain(speck.dark, spotAt(speck.dark, 200, 200), true)).toBe(true)
  })

  it('tells a wide ground of ink from a stroke', () => {
    const wide = (ink: (c: number, r: number) => boolean) => {
      const { light, i, round } = holeIn(ink)
      return round.wideInk(light, i)
    }
    expect(wide(() => true)).toBe(true)
    expect(wide((_, r) => r < 220)).toBe(true)
    expect(wide((_, r) => Math.abs(r - 200) < 12)).toBe(false)
  })
})
