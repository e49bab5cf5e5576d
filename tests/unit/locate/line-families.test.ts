import { describe, expect, it } from 'vitest'
import { inFamilies, type PlainLine } from '../../../src/locate/line-families.js'

/** Lines so far off the first, um, at 30 degrees, 6 mm long and 80 um wide. */
const lines = (offs: readonly number[], each: (k: number) => Partial<PlainLine> = () => ({})): PlainLine[] =>
  offs.map((off, k) => ({
    x: -off * Math.sin(Math.PI / 6),
    y: off * Math.cos(Math.PI / 6),
    angle: Math.PI / 6,
    length: 6000,
    width: 80,
    ...each(k),
  }))

describe('inFamilies', () => {
  it('knows three at equal distances, whichever of them is asked', () => {
    expect(inFamilies(lines([0, 500, 1000]))).toEqual([true, true, true])
    expect(inFamilies(lines([0, 500, 1070]))).toEqual([true, true, true])
    expect(inFamilies(lines([0, 500, 1090]))).toEqual([false, false, false])
  })

  it('leaves scratches: two side by side, three as chance has it, passes of a head far apart', () => {
    expect(inFamilies(lines([0, 500]))).toEqual([false, false])
    expect(inFamilies(lines([0, 300, 1100]))).toEqual([false, false, false])
    expect(inFamilies(lines([0, 4000, 8000]))).toEqual([false, false, false])
  })

  it('asks that they be parallel, of one width, and beside each other', () => {
    expect(inFamilies(lines([0, 500, 1000], k => (k === 2 ? { angle: 0.6 } : {})))).toEqual([false, false, false])
    expect(inFamilies(lines([0, 500, 1000], k => (k === 1 ? { width: 140 } : {})))).toEqual([false, false, false])
    expect(inFamilies(lines([0, 500, 1000], k => (k === 1 ? { x: 9000, y: 5600 } : {})))).toEqual([false, false, false])
    // A direction told the other way round is the same direction.
    const turned = lines([0, 500, 1000], k => (k === 1 ? { angle: Math.PI / 6 - Math.PI } : {}))
    expect(inFamilies(turned)).toEqual([true, true, true])
  })

  it('counts lines that are not asked of, of other widths too, as a screen has that runs from light to dark', () => {
    const [first, ...others] = lines([0, 500, 1000], k => ({ width: 80 + 60 * k }))
    expect(inFamilies([first!], others)).toEqual([true])
    expect(inFamilies([first!])).toEqual([false])
  })
})
