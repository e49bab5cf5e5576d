import { describe, expect, it } from 'vitest'
import { tileSpread } from '../../../src/imaging/tile-spread.js'

describe('tileSpread', () => {
  it('is the mottle of ISO/IEC 13660 (formula from memory; its value worked out): tiles of mean 3.51, 3.49, 3.55 give 0.0305505', () => {
    const { variance, free } = tileSpread([(3.5 + 3.52) / 2, (3.48 + 3.5) / 2, (3.54 + 3.56) / 2], 3, 'nothing')
    expect(Math.sqrt(variance)).toBeCloseTo(0.0305505, 6)
    expect(free).toBe(2)
  })

  it('takes bands along either side and slopes out, and leaves the rest unbiased', () => {
    const bands = Array.from({ length: 20 }, (_, i) => Math.sin(i % 5) + 0.3 * Math.floor(i / 5) ** 2)
    expect(tileSpread(bands, 5, 'rowsAndColumns').variance).toBeCloseTo(0, 20)
    // A chessboard of +-1 has mean 0 in every row and column of even length: sum of squares 16 over 9 degrees of freedom.
    const chess = Array.from({ length: 16 }, (_, i) => (((i % 4) + Math.floor(i / 4)) % 2 === 0 ? 1 : -1))
    expect(tileSpread(chess, 4, 'rowsAndColumns')).toEqual({ variance: 16 / 9, free: 9 })
  })

  it('has nothing to say of a single tile or row', () => {
    expect(tileSpread([1], 1, 'nothing')).toEqual({ variance: 0, free: 0 })
    expect(tileSpread([1, 2, 3], 3, 'rowsAndColumns').free).toBe(0)
    expect(() => tileSpread([1, 2, 3], 2, 'nothing')).toThrow('3 tiles')
  })
})
