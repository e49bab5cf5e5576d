import { describe, expect, it } from 'vitest'
import { lighterBlocks } from '../../../src/imaging/lighter-blocks.js'

const [OPEN_LIGHT, HOLDER, BASE, SOLID] = [1, 2, 3, 4]

describe('lighterBlocks', () => {
  // More blocks than are handed over at once, by one.
  const n = 2 * 16_384 + 1
  const kinds = [0, OPEN_LIGHT, HOLDER, BASE, SOLID, SOLID, SOLID] as const
  const labels = Uint8Array.from({ length: n }, (_, i) => kinds[(i * 5) % 7]!)
  const light = Float32Array.from({ length: n }, (_, i) => ((i * 37) % 101) / 1000)
  const area = Int32Array.from(labels, (label, i) => (label === SOLID ? 1 + (i % 3) : 0))
  const levels = Float32Array.of(0, 0.01, 0.02, 0.03)
  const above = Float64Array.of(0, 0.03, 0.05, 0.04)
  const blocks = { light, labels, label: SOLID, area, levels }
  const lighter = (i: number) => light[i]! > levels[area[i]!]! + above[area[i]!]!

  it('names the blocks that a plain look at each names, the last one too', () => {
    light[n - 1] = 0.9
    labels[n - 1] = SOLID
    area[n - 1] = 1
    const wanted = Array.from({ length: n }, (_, i) => i).filter(i => labels[i] === SOLID && lighter(i))
    expect([...lighterBlocks(blocks, above, null)]).toEqual(wanted)
    expect(wanted.length).toBeGreaterThan(4096)
  })

  it('adds, when asked, what is neither solid nor clear', () => {
    const wanted = Array.from({ length: n }, (_, i) => i).filter(i =>
      labels[i] === SOLID ? lighter(i) : labels[i] !== BASE && labels[i] !== OPEN_LIGHT,
    )
    expect([...lighterBlocks(blocks, above, [BASE, OPEN_LIGHT])]).toEqual(wanted)
  })
})
