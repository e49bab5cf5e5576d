import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { thinnedInk, widenedInk } from '../../../src/artwork/widened-ink.js'

function bitmap(rows: readonly string[]) {
  const width = rows[0]!.length
  const rowBytes = (width + 7) >> 3
  const bits = new Uint8Array(rowBytes * rows.length)
  rows.forEach((row, r) => {
    for (let c = 0; c < width; c++) if (row[c] === '#') bits[r * rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
  })
  return { width, height: rows.length, rowBytes, bits }
}

function drawn(bits: Uint8Array, { width, height, rowBytes }: ReturnType<typeof bitmap>): string[] {
  return Array.from({ length: height }, (_, r) =>
    Array.from({ length: width }, (_, c) =>
      (bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0 ? '#' : '.',
    ).join(''),
  )
}

describe('widenedInk and thinnedInk', () => {
  it('grow a pixel to a box and shrink the box to the pixel', () => {
    const dot = bitmap(['.........', '.........', '.........', '....#....', '.........', '.........', '.........'])
    const box = ['.........', '.........', '..#####..', '..#####..', '..#####..', '.........', '.........']
    expect(drawn(widenedInk(dot, 2, 1), dot)).toEqual(box)
    expect(drawn(thinnedInk(bitmap(box), 2, 1), dot)).toEqual(drawn(dot.bits, dot))
  })

  it('agree with looking at every neighbour, up to the frame', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.boolean(), { minLength: 37, maxLength: 37 }), { minLength: 21, maxLength: 21 }),
        fc.integer({ min: 0, max: 9 }),
        fc.integer({ min: 0, max: 5 }),
        (cells, across, along) => {
          const sparse = cells.map((row, r) => row.map((ink, c) => ink && (3 * r + 7 * c) % 5 === 0))
          const art = bitmap(sparse.map(row => row.map(ink => (ink ? '#' : '.')).join('')))
          const wide = drawn(widenedInk(art, across, along), art)
          const thin = drawn(thinnedInk({ ...art, bits: widenedInk(art, across, along) }, across, along), art)
          for (let r = 0; r < art.height; r++)
            for (let c = 0; c < art.width; c++) {
              let near = false
              for (let y = r - along; y <= r + along; y++)
                for (let x = c - across; x <= c + across; x++) near ||= sparse[y]?.[x] === true
              expect(wide[r]![c]).toBe(near ? '#' : '.')
              if (
                sparse[r]![c] &&
                r >= 2 * along &&
                c >= 2 * across &&
                r < art.height - 2 * along &&
                c < art.width - 2 * across
              )
                expect(thin[r]![c]).toBe('#')
            }
        },
      ),
      { numRuns: 40, seed: 5 },
    )
  })
})
