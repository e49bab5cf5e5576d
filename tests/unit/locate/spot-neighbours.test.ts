import { describe, expect, it } from 'vitest'
import { neighbourhood } from '../../../src/locate/spot-neighbours.js'
import { BLACK, CLEAR, spotAt, spotsOf } from '../../support/spot-list.js'

type Box = readonly [column: number, row: number, width: number, height: number]
const STOP: Box = [100, 60, 6, 6]

function around(boxes: readonly Box[], regular: readonly number[] = []) {
  const { dark } = spotsOf(240, 140, (c, r) =>
    [STOP, ...boxes].some(([x, y, w, h]) => c >= x && c < x + w && r >= y && r < y + h) ? BLACK : CLEAR,
  )
  const marks = new Uint8Array(dark.count)
  for (const k of regular) marks[spotAt(dark, boxes[k]![0], boxes[k]![1])] = 1
  return { near: neighbourhood(dark, marks, 12), i: spotAt(dark, 102, 62) }
}

describe('neighbourhood', () => {
  it('finds a letter beside a stop, and no hair-line, nothing too large and nothing too far', () => {
    const beside = (...boxes: Box[]) => {
      const { near, i } = around(boxes)
      return near.beside(i, 1.6, 2, 8)
    }
    expect(beside([112, 42, 18, 24])).toBe(true)
    // The stem of an i, thinner than its dot is corner to corner.
    expect(beside([100, 72, 5, 20])).toBe(true)
    expect(beside([90, 70, 60, 2])).toBe(false)
    expect(beside([112, 2, 80, 70])).toBe(false)
    expect(beside([117, 42, 18, 24])).toBe(false)
    expect(beside()).toBe(false)
  })

  it('finds spots of its own size as near as letters stand', () => {
    const { near, i } = around([[108, 60, 7, 6]])
    expect(near.amongLike(i)).toBe(true)
    expect(near.like(i, 1, () => false)).toBe(false)
    expect(around([[109, 60, 2, 2]]).near.amongLike(i)).toBe(false)
    expect(around([[111, 60, 7, 6]]).near.amongLike(i)).toBe(false)
  })

  it('leaves out small dots on a lattice, not letters that stand as evenly', () => {
    const small = around([[108, 60, 7, 6]], [0])
    expect(small.near.amongLike(small.i)).toBe(false)
    const letter = around([[112, 42, 18, 24]], [0])
    expect(letter.near.beside(letter.i, 1.6, 2, 8)).toBe(true)
  })

  it('knows the place of a stop in a line of type: close to a letter and flush with it, or between two of one height', () => {
    const places = (...boxes: Box[]) => {
      const { near, i } = around(boxes)
      return [near.inLine(i), near.betweenLetters(i)]
    }
    /** The letter L, 24 pixels high. */
    const letter = (x: number, y: number): Box[] => [
      [x, y, 4, 24],
      [x, y + 20, 18, 4],
    ]
    expect(places(...letter(116, 42))).toEqual([true, false])
    // Level with its middle, no stop stands so far away.
    expect(places(...letter(116, 51))).toEqual([false, false])
    // Too far for its height from a single letter, and between two.
    expect(places(...letter(124, 42))).toEqual([false, false])
    expect(places(...letter(124, 42), ...letter(62, 42))).toEqual([true, true])
    // Both on one side, and a rule or a solid thing on the other.
    expect(places(...letter(124, 42), ...letter(124, 80))).toEqual([false, false])
    expect(places(...letter(124, 42), [50, 61, 30, 2])).toEqual([false, false])
    expect(places(...letter(124, 42), [62, 42, 20, 24])).toEqual([false, false])
  })

  it('knows letters that are set apart by two of their size', () => {
    const spaced = (...boxes: Box[]) => {
      const { near, i } = around(boxes)
      return near.spaced(i)
    }
    expect(spaced([112, 60, 8, 6], [86, 58, 6, 8])).toBe(true)
    expect(spaced([112, 60, 8, 6])).toBe(false)
    expect(spaced([112, 60, 8, 6], [86, 40, 20, 30])).toBe(false)
  })
})
