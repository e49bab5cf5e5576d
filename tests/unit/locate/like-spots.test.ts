import { describe, expect, it } from 'vitest'
import { likeSpots } from '../../../src/locate/like-spots.js'
import { BLACK, CLEAR, spotAt, spotsOf } from '../../support/spot-list.js'

const dark = (places: readonly (readonly [number, number, number])[]) =>
  spotsOf(260, 120, (c, r) => (places.some(([x, y, d]) => c >= x && c < x + d && r >= y && r < y + d) ? BLACK : CLEAR))
    .dark

const row = (xs: readonly number[], side = 5) => xs.map(x => [x, 40, side] as const)
const none = (count: number) => new Uint8Array(count)

describe('likeSpots', () => {
  it('knows four of a size at equal distances for a row, three where they are near, and none at random', () => {
    const inRow = (xs: readonly number[]) => {
      const spots = dark(row(xs))
      return likeSpots(spots, none(spots.count)).inRow(spotAt(spots, xs[0]! + 2, 42), 120)
    }
    expect(inRow([20, 60, 100, 140])).toBe(true)
    expect(inRow([20, 60, 100])).toBe(true)
    expect(inRow([20, 120, 220])).toBe(false)
    expect(inRow([20, 60, 110, 140])).toBe(false)
    // The one at the end stands in it as well as one in the middle.
    const spots = dark(row([20, 60, 100, 140]))
    const like = likeSpots(spots, none(spots.count))
    expect([20, 60, 100, 140].map(x => like.inRow(spotAt(spots, x + 2, 42), 120))).toEqual([true, true, true, true])
    expect(like.inRow(spotAt(spots, 22, 42), 30)).toBe(false)
  })

  it('asks that they be alike: another size or shape is no part of a row', () => {
    const spots = dark([...row([20, 60]), [100, 38, 9], [140, 40, 5]])
    expect(likeSpots(spots, none(spots.count)).inRow(spotAt(spots, 22, 42), 120)).toBe(false)
  })

  it('counts company of its like and a crowd of all that is not much smaller; dots of a screen are a crowd only', () => {
    const spots = dark([
      [50, 50, 6],
      [70, 50, 6],
      [50, 70, 6],
      [30, 50, 12],
      [50, 30, 2],
    ])
    const i = spotAt(spots, 52, 52)
    const like = likeSpots(spots, none(spots.count))
    expect([like.company(i, 30), like.crowd(i, 30)]).toEqual([2, 3])
    expect([like.company(i, 10), like.crowd(i, 10)]).toEqual([0, 0])
    const screened = likeSpots(spots, new Uint8Array(spots.count).fill(1))
    expect([screened.company(i, 30), screened.crowd(i, 30)]).toEqual([0, 3])
  })

  it('follows like spots along a curve, and no spot that lies off it', () => {
    const circle = Array.from({ length: 12 }, (_, k) => {
      const a = (k * Math.PI) / 6
      return [Math.round(130 + 45 * Math.cos(a)), Math.round(60 + 45 * Math.sin(a)), 5] as const
    })
    const spots = dark([...circle, [118, 66, 5]])
    const like = likeSpots(spots, none(spots.count))
    expect(like.inRow(spotAt(spots, 177, 62), 100)).toBe(false)
    expect(like.onCurve(spotAt(spots, 177, 62), 100)).toBe(true)
    expect(like.onCurve(spotAt(spots, 120, 68), 100)).toBe(false)
  })

  it('knows a lattice of dots that run from small to large, its cut rim, and a spot between its dots', () => {
    const dots = [0, 1, 2, 3].flatMap(r =>
      [0, 1, 2, 3, 4].map(c => [20 + 24 * c - 2 * c + r, 10 + 24 * r - c, 4 + 2 * c] as const),
    )
    const spots = dark([...dots, [33, 22, 3], [124, 38, 4]])
    const like = likeSpots(spots, none(spots.count))
    expect(like.onLattice(spotAt(spots, 21, 11), 80)).toBe(true)
    expect(like.onLattice(spotAt(spots, 34, 23), 80)).toBe(false)
    expect(like.onLattice(spotAt(spots, 125, 39), 80)).toBe(false)
    expect(like.besideLattice(spotAt(spots, 125, 39), 80)).toBe(true)
  })

  it('counts those of one size with it', () => {
    const spots = dark([
      [20, 20, 8],
      [40, 60, 8],
      [80, 30, 8],
      [60, 80, 9],
      [100, 20, 4],
    ])
    const like = likeSpots(spots, none(spots.count))
    expect(like.equals(spotAt(spots, 22, 22), 100)).toBe(2)
    expect(like.equals(spotAt(spots, 22, 22), 50)).toBe(1)
  })

  it('takes the cut last dash of a row for its end, and nothing beside the row', () => {
    const spots = dark([...row([20, 50, 80, 110]), [138, 40, 4], [50, 60, 4]])
    const like = likeSpots(spots, none(spots.count))
    expect(like.endOfRow(spotAt(spots, 139, 41), 60)).toBe(true)
    expect(like.endOfRow(spotAt(spots, 51, 61), 60)).toBe(false)
  })

  it('knows a shape again in other sizes, and discs by no shape', () => {
    // Right-angled triangles and discs of several sizes.
    const things = [
      [20, 20, 14],
      [60, 20, 18],
      [100, 20, 24],
      [150, 20, 32],
    ] as const
    const page = (inside: (x: number, y: number, side: number) => boolean) =>
      spotsOf(260, 120, (c, r) => (things.some(([x, y, side]) => inside(c - x, r - y, side)) ? BLACK : CLEAR)).dark
    const triangles = page((x, y, side) => x >= 0 && y >= 0 && x + y < side)
    const discs = page((x, y, side) => Math.hypot(x - side / 2, y - side / 2) < side / 2)
    const ofTriangles = likeSpots(triangles, none(triangles.count))
    const ofDiscs = likeSpots(discs, none(discs.count))
    expect(ofTriangles.sameShape(spotAt(triangles, 22, 22), 200)).toBe(3)
    expect(ofDiscs.sameShape(spotAt(discs, 27, 27), 200)).toBe(0)
    expect(ofTriangles.strewn(spotAt(triangles, 22, 22), 200, 10_000)).toBe(false)
    expect(ofDiscs.strewn(spotAt(discs, 27, 27), 200, 100)).toBe(false)
  })
})
