import { describe, expect, it } from 'vitest'
import { readCode } from '../../../src/locate/read-code.js'
import { codeModules } from '../../../src/strip/code-modules.js'

/** A symbol drawn `pixels` a module with clear film round it; `spoil` may turn a module. */
function picture(text: string, pixels: number, spoil: (row: number, column: number) => boolean = () => false) {
  const { size, dark } = codeModules(text)
  const rim = 3 * pixels
  const side = size * pixels + 2 * rim
  const light = new Float32Array(side * side).fill(1)
  for (let r = 0; r < size * pixels; r++)
    for (let c = 0; c < size * pixels; c++) {
      const row = Math.floor(r / pixels)
      const column = Math.floor(c / pixels)
      const ink = (dark[row * size + column] === 1) !== spoil(row, column)
      light[(r + rim) * side + c + rim] = ink ? 0.02 : 0.98
    }
  return { side, light }
}

const TEXT = '1khs p-1 halftone 720 x'

describe('readCode', () => {
  it('reads a symbol as it was seen', async () => {
    expect(await readCode(picture(TEXT, 8))).toBe(TEXT)
  })

  it('reads one of which a corner is gone, by its own error correction', async () => {
    expect(await readCode(picture(TEXT, 8, (row, column) => row < 5 && column > 3 && column < 9))).toBe(TEXT)
  })

  it('reads one whose border is scratched away in places, drawn anew', async () => {
    const scratched = picture(TEXT, 8)
    // Light scratches across the symbol and both its solid borders, a quarter of a module wide.
    for (const at of [0.23, 0.5, 0.77])
      for (let i = 0; i < scratched.side; i++)
        for (let w = 0; w < 2; w++) {
          scratched.light[(Math.round(at * scratched.side) + w) * scratched.side + i] = 1
          scratched.light[i * scratched.side + Math.round(at * scratched.side) + w] = 1
        }
    expect(await readCode(scratched)).toBe(TEXT)
  })

  it('says nothing of what is no symbol', async () => {
    expect(await readCode({ side: 120, light: new Float32Array(120 * 120).fill(1) })).toBeNull()
    const { side, light } = picture(TEXT, 8, (row, column) => (row * 7 + column * 3) % 2 === 0)
    expect(await readCode({ side, light })).toBeNull()
  })
})
