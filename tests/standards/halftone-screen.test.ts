import { describe, expect, it } from 'vitest'
import { complexPlane, transformPlane } from '../../src/imaging/fourier-plane.js'
import { dotOrder, halftoneCell, sideScreen } from '../../src/strip/halftone-cell.js'

describe('screens against computed values', () => {
  it('a cell of (29, 12) pixels at 1440 dpi: 45.8822 lines/in at 22.4794 degrees, 986 levels (rational tangent, computed)', () => {
    const dpi = { across: 1440, along: 1440 }
    const { ruling, angle } = sideScreen({ columns: 29, rows: 12 }, 1, dpi, 0)
    expect(Math.abs(ruling - 45.8822)).toBeLessThan(1e-4)
    expect(Math.abs(angle - 22.4794)).toBeLessThan(1e-4)
    expect(29 * 29 + 12 * 12 + 1).toBe(986)
  })

  it('levels of a square cell are (dpi / lpi)^2 + 1: 1025 at 1440 dpi and 45 lpi, 257 at 720 and 45 (textbook formula)', () => {
    const levels = (dpi: number) => {
      const cell = halftoneCell({ ruling: 45, angle: 0 }, { across: dpi, along: dpi })
      return cell.pixels / cell.dots ** 2 + 1
    }
    expect(levels(1440)).toBe(1025)
    expect(levels(720)).toBe(257)
  })

  it('a screen of 45.703 lines/in at 22.620 degrees on 1200 dpi peaks at 39/1024 cycles a pixel, half of it dark (computed)', () => {
    const side = 1024
    const cell = halftoneCell(
      { ruling: (39 / side) * 1200, angle: (Math.atan2(15, 36) * 180) / Math.PI },
      { across: 1200, along: 1200 },
    )
    const rank = dotOrder(cell)
    const plane = complexPlane(side)
    let dark = 0
    for (let r = 0; r < side; r++)
      for (let c = 0; c < side; c++) {
        const ink = rank(c, r) < cell.pixels / 2
        if (ink) dark++
        plane.re[r * side + c] = ink ? 0.5 : -0.5
      }
    expect(Math.abs(dark / side ** 2 - 0.49998)).toBeLessThan(1e-3)
    transformPlane(plane, false)
    let best = { power: 0, column: 0, row: 0 }
    for (let r = 0; r < side; r++)
      for (let c = 0; c < side / 2; c++) {
        const power = plane.re[r * side + c]! ** 2 + plane.im[r * side + c]! ** 2
        if (power > best.power && r + c > 0) best = { power, column: c, row: r > side / 2 ? r - side : r }
      }
    const near = (column: number, row: number) => Math.abs(best.column - column) <= 1 && Math.abs(best.row - row) <= 1
    expect(near(36, 15) || near(15, -36) || near(15, 36) || near(36, -15), JSON.stringify(best)).toBe(true)
  })
})
