import { expect, it } from 'vitest'
import { turnedSums } from '../../../src/imaging/turned-sums.js'

it('sums light and pixels by place along both sides and by tile, as a plain loop does', () => {
  const [columns, rows, pixelMm, strips, tileMm] = [70, 60, 0.05, 4, 0.5] as const
  const turn = (7 * Math.PI) / 180
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)]
  const [first, second] = [
    { lengthMm: 2, samples: 38, tiles: 4 },
    { lengthMm: 1.6, samples: 30, tiles: 3 },
  ]
  const [x0, y0] = [1.71, 1.43]
  const table = Float32Array.from({ length: 65536 }, (_, code) => code / 65535)
  const codes = Uint16Array.from({ length: columns * rows }, (_, i) => (i * 7919) % 65536)
  const made = turnedSums({
    table,
    bandPixels: codes.length,
    pixelMm,
    originMm: x0,
    cos,
    sin,
    first,
    second,
    strips,
    tileMm,
  })
  made.codes.set(codes)
  const plain = new Float64Array(made.sums.length)
  const add = (place: number, light: number) => {
    plain[2 * place]! += light
    plain[2 * place + 1]! += 1
  }
  for (let r = 0; r < rows; r++) {
    const y = r * pixelMm - y0
    made.addRow(r * columns, 0, columns, { row: r, s: y * sin, t: y * cos })
    for (let c = 0; c < columns; c++) {
      const x = c * pixelMm - x0
      const s = x * cos + y * sin + first.lengthMm / 2
      const t = -x * sin + y * cos + second.lengthMm / 2
      if (!(s >= 0 && t >= 0 && s < first.lengthMm && t < second.lengthMm)) continue
      const light = table[codes[r * columns + c]!]!
      const alongS = Math.floor((s * first.samples) / first.lengthMm)
      const alongT = Math.floor((t * second.samples) / second.lengthMm)
      add(Math.floor((t * strips) / second.lengthMm) * first.samples + alongS, light)
      add(strips * first.samples + Math.floor((s * strips) / first.lengthMm) * second.samples + alongT, light)
      const [tileS, tileT] = [Math.floor(s / tileMm), Math.floor(t / tileMm)]
      if (tileS < first.tiles && tileT < second.tiles)
        add(strips * (first.samples + second.samples) + 2 * (tileT * first.tiles + tileS) + ((r + c) & 1), light)
    }
  }
  expect(plain.some(sum => sum > 0)).toBe(true)
  made.sums.forEach((sum, i) => {
    expect(Math.abs(sum - plain[i]!)).toBeLessThanOrEqual(1e-12)
  })
})
