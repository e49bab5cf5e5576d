import { describe, expect, it } from 'vitest'
import { fitAffine, fitSimilarity, mapped } from '../../../src/imaging/fit-plane-map.js'

const MAP = { x0: 3, y0: -2, xx: 1.1, xy: 0.2, yx: -0.3, yy: 0.9 }
const pair = (x: number, y: number) => {
  const to = mapped(MAP, x, y)
  return { fromX: x, fromY: y, toX: to.x, toY: to.y }
}
const PAIRS = [pair(0, 0), pair(5, 1), pair(2, 7), pair(-3, 4)]

describe('fitAffine', () => {
  it('gives back the map that made the pairs, a pair of weight 0 or not', () => {
    const wrong = { ...pair(1, 1), toX: 50 }
    for (const fitted of [fitAffine(PAIRS), fitAffine([...PAIRS, wrong], [1, 1, 1, 1, 0])])
      for (const key of ['x0', 'y0', 'xx', 'xy', 'yx', 'yy'] as const) expect(fitted[key]).toBeCloseTo(MAP[key], 12)
  })

  it('refuses pairs on one line and none that counts', () => {
    expect(() => fitAffine([pair(0, 0), pair(1, 1), pair(2, 2)])).toThrow(/not on one line/)
    expect(() => fitAffine(PAIRS, [0, 0, 0, 0])).toThrow(/total weight of 0/)
  })
})

describe('fitSimilarity', () => {
  it('gives back scale, turn and shift', () => {
    const turn = (30 * Math.PI) / 180
    const [c, s] = [1.5 * Math.cos(turn), 1.5 * Math.sin(turn)]
    const made = [
      [0, 0],
      [4, 1],
      [-2, 3],
    ].map(([x, y]) => ({ fromX: x!, fromY: y!, toX: 7 + c * x! - s * y!, toY: -1 + s * x! + c * y! }))
    const seen = fitSimilarity(made)
    expect(seen.scale).toBeCloseTo(1.5, 12)
    expect(seen.turn).toBeCloseTo(30, 10)
    expect(seen.shiftX).toBeCloseTo(7, 12)
    expect(seen.shiftY).toBeCloseTo(-1, 12)
  })

  it('refuses one place', () => {
    expect(() => fitSimilarity([pair(1, 1), pair(1, 1)])).toThrow(/2 different places/)
  })
})
