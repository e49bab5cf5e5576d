import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import {
  brightestBlock,
  clippedBlocks,
  densityHistogram,
  flatBlocks,
  labelBlocks,
  lightOfLevels,
} from '../../../src/imaging/block-light.js'

// More blocks than are handed over at once, by three.
const N = 2 * 32_768 + 3
const random = seededRandom(8)
const light = Float32Array.from({ length: N }, () => 10 ** (-1.2 * random.uniform()))
light[N - 1] = 1.25
const marks = Uint8Array.from({ length: N }, () => (random.uniform() < 0.7 ? 1 : 0))
marks[N - 1] = 1

/** The first block that two lists tell otherwise. */
const firstOff = (list: Uint8Array, wanted: (i: number) => number) => list.findIndex((value, i) => value !== wanted(i))

describe('loops over the light of blocks do what a plain look at each does', () => {
  it('the brightest, in the last block too', () => {
    expect(brightestBlock(light)).toBe(1.25)
    expect(brightestBlock(Float32Array.of(-1, -2))).toBe(0)
  })

  it('flat blocks', () => {
    const table = Float32Array.from({ length: 65_536 }, (_, code) => (code / 65_535) ** 1.5)
    const least = Uint16Array.from({ length: N }, () => Math.floor(60_000 * random.uniform()))
    const greatest = least.map(code => code + Math.floor(5_000 * random.uniform()))
    const flat = flatBlocks({ least, greatest }, table, 0.03)
    const wanted = least.map((low, i) => (table[greatest[i]!]! - table[low]! <= 0.03 ? 1 : 0))
    expect(firstOff(flat, i => wanted[i]!)).toBe(-1)
    expect(wanted.includes(1) && wanted.includes(0)).toBe(true)
  })

  it('bins of density, by their logarithms', () => {
    const [brightest, step, bins] = [1.25, 0.003, 200]
    const least = brightest * 10 ** -0.6
    const wanted = new Int32Array(bins + 1)
    light.forEach((value, i) => {
      if (marks[i] === 1 && value > least)
        wanted[Math.min(bins, Math.max(0, Math.round(-Math.log10(value / brightest) / step)))]!++
    })
    expect(densityHistogram(light, marks, { least, brightest, step, bins })).toEqual(wanted)
  })

  it('sums of levels', () => {
    const [from, to] = [
      [0.1, 0.5, 0.7],
      [0.2, 0.8, 0.9],
    ]
    const { sums, counts } = lightOfLevels(light, marks, from!, to!)
    from!.forEach((low, k) => {
      const there = [...light].filter((value, i) => marks[i] === 1 && value > low && value < to![k]!)
      expect(counts[k]).toBe(there.length)
      expect(sums[k]).toBe(there.reduce((sum, value) => sum + value, 0))
    })
  })

  it('labels', () => {
    const names = { open: 1, base: 3, solid: 4 }
    const split = { splitOpen: 0.9, leastBase: 0.6, mostSolid: 0.2, darkBelow: 0.3, names }
    const [labels, film, flat] = [new Uint8Array(N), new Uint8Array(N), marks.slice()]
    labelBlocks(light, flat, split, { labels, film })
    const plain = (value: number, even: boolean) =>
      value > 0.9 ? 1 : even ? (value > 0.6 ? 3 : value < 0.2 ? 4 : 0) : 0
    expect(firstOff(labels, i => plain(light[i]!, marks[i] === 1))).toBe(-1)
    expect(firstOff(film, i => (light[i]! > 0.9 ? 0 : 1))).toBe(-1)
    expect(firstOff(flat, i => (marks[i] === 1 && light[i]! < 0.3 ? 1 : 0))).toBe(-1)
  })

  it('clipped blocks of one label', () => {
    const labels = Uint8Array.from({ length: N }, (_, i) => i % 3)
    const greatest = Uint16Array.from({ length: N }, (_, i) => (i % 5 === 0 || i === N - 1 ? 65_535 : 65_534))
    const wanted = labels.filter((label, i) => label === 2 && greatest[i] === 65_535).length
    expect(clippedBlocks(labels, greatest, 2)).toBe(wanted)
  })
})
