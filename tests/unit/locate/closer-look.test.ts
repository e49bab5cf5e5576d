import { describe, expect, it } from 'vitest'
import { closerLook } from '../../../src/locate/closer-look.js'
import { memoryScan } from '../../support/memory-scan.js'
import { BLACK, CLEAR, spotAt, spotsOf } from '../../support/spot-list.js'

const UM = 42.3
const LEVELS = { lightAbove: 7000, middle: 27_000, darkBelow: 47_000 }

/** A page of ink where told, else clear film, and what a closer look at it tells. */
function page(ink: (column: number, row: number) => boolean, width = 200, height = 160) {
  const light = (c: number, r: number) => (ink(c, r) ? BLACK : CLEAR)
  const codes = Uint16Array.from({ length: width * height }, (_, i) =>
    Math.round(60_000 * light(i % width, Math.floor(i / width))),
  )
  const { light: holes, dark, overview } = spotsOf(width, height, light)
  return { holes, dark, look: closerLook(memoryScan(codes, width, height, 600), overview, LEVELS, UM) }
}

const between = (value: number, from: number, to: number) => value >= from && value < to

describe('closerLook', () => {
  it('tells a module of a code from a hole in a solid or in a stroke', () => {
    // Modules of eight pixels; the one at (96, 72) is open with ink all round it.
    const on = (c: number, r: number) => {
      if (Math.abs(c - 12) <= 1 && Math.abs(r - 9) <= 1) return c !== 12 || r !== 9
      return (c * 7 + r * 13 + c * r) % 3 !== 0
    }
    const code = page((c, r) => on(Math.floor(c / 8), Math.floor(r / 8)))
    expect(code.look.amidItsLike(code.holes, spotAt(code.holes, 100, 76), true)).toBe(true)
    const hole = (c: number, r: number) => Math.hypot(c - 100, r - 76) < 4
    const solid = page((c, r) => !hole(c, r))
    expect(solid.look.amidItsLike(solid.holes, spotAt(solid.holes, 100, 76), true)).toBe(false)
    const stroke = page((c, r) => between(c, 89, 112) && !hole(c, r))
    expect(stroke.look.amidItsLike(stroke.holes, spotAt(stroke.holes, 100, 76), true)).toBe(false)
  })

  it('finds ink on both sides of a scratch, and not of a gap between two things', () => {
    const line = (c: number, r: number) => between(r, 70, 73) && between(c, 40, 150)
    const solid = page((c, r) => !line(c, r))
    expect(solid.look.throughInk(solid.holes, spotAt(solid.holes, 90, 71))).toBe(true)
    const gap = page((c, r) => between(r, 64, 80) && !line(c, r))
    expect(gap.look.throughInk(gap.holes, spotAt(gap.holes, 90, 71))).toBe(false)
  })

  it('knows crossed strokes along the axes, and counts loops', () => {
    const cross = page(
      (c, r) => (between(c, 99, 101) && between(r, 20, 140)) || (between(r, 79, 81) && between(c, 40, 160)),
    )
    const i = spotAt(cross.dark, 100, 30)
    expect(cross.look.crossedStrokes(cross.dark, i, [0])).toBe(true)
    expect(cross.look.crossedStrokes(cross.dark, i, [30])).toBe(false)
    expect(cross.look.loops(cross.dark, i)).toBe(0)
    const target = page((c, r) => {
      const far = Math.hypot(c - 100, r - 80)
      return between(far, 40, 42) || (far < 60 && (between(c, 99, 101) || between(r, 79, 81)))
    })
    const k = spotAt(target.dark, 100, 30)
    expect(target.look.loops(target.dark, k)).toBe(4)
    const bent = page((c, r) => Math.abs(r - 80 - 30 * Math.sin(c / 20)) < 1.6 && between(c, 40, 160))
    const hair = spotAt(bent.dark, 100, 80)
    expect(bent.look.crossedStrokes(bent.dark, hair, [0])).toBe(false)
    expect(bent.look.loops(bent.dark, hair)).toBe(0)
  })
})
