import { describe, expect, it } from 'vitest'
import { likeSpots } from '../../../src/locate/like-spots.js'
import { BLACK, CLEAR, spotAt, spotsOf } from '../../support/spot-list.js'

const dark = (places: readonly (readonly [number, number, number])[]) =>
  spotsOf(260, 120, (c, r) => (places.some(([x, y, d]) => c >= x && c < x + d && r >= y && r < y + d) ? BLACK : CLEAR))
    .dark

const row = (xs: readonly number[], side = 5) => xs.map(x => [x, 40, side] as const)
const none = (count: number) => new Uint8Array(count)

describe('likeSpots', () => {
  it('knows four of a size at equal distances for a row, and no three, no four at random', () => {
    const inRow = (xs: readonly number[]) => {
      const spots = dark(row(xs))
      return likeSpots(spots, none(spots.count)).inRow(spotAt(spots, xs[0]! + 2, 42), 120)
    }
    expect(inRow([20, 60, 100, 140])).toBe(true)
    expect(inRow([20, 60, 100])).toBe(false)
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
})
