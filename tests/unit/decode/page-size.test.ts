import { describe, expect, it } from 'vitest'
import { LONGEST_SIDE, requirePageSize } from '../../../src/decode/page-size.js'

const codeOf = (width: number, height: number): string | null => {
  try {
    requirePageSize(width, height)
    return null
  } catch (error) {
    return (error as { problem: { code: string } }).problem.code
  }
}

describe('requirePageSize', () => {
  it('takes 1 x 1 and A3 at 4800 dpi', () => {
    expect(codeOf(1, 1)).toBeNull()
    expect(codeOf(56_126, 79_370)).toBeNull()
    expect(codeOf(LONGEST_SIDE, 10)).toBeNull()
  })

  it('refuses what has no pixels, and what no flatbed makes', () => {
    for (const wrong of [0, -1, Number.NaN, 0.5]) expect(codeOf(wrong, 10)).toBe('SCAN_NO_PIXELS')
    expect(codeOf(10, 0)).toBe('SCAN_NO_PIXELS')
    expect(codeOf(LONGEST_SIDE + 1, 10)).toBe('SCAN_TOO_LARGE')
    expect(codeOf(80_000, 80_000)).toBe('SCAN_TOO_LARGE')
  })
})
