import { normals, seeded } from '../unit/calibrate/tablet-raster.js'
import { memoryScan } from './memory-scan.js'

const TURN = { right: 0, down: 90, left: 180, up: 270 } as const

/** A tablet drawn at random from wide ranges, laid on glass at random, and what every step must read. */
export function drawnTablet(seed: number, dpi = 300) {
  const MM = 25.4 / dpi
  const random = seeded(seed * 7919 + 13)
  for (let i = 0; i < 5; i++) random()
  const within = (a: number, b: number) => a + (b - a) * random()
  const one = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)]!
  const count = one([10, 16, 21, 21, 31, 31, 41])
  const each = count <= 16 ? within(0.13, 0.25) : count === 21 ? 0.15 : 3 / (count - 1)
  const densities = Array.from({ length: count }, (_, i) => 0.05 + each * i)
  const pitch = within(2.5, 4.5)
  const width = within(5, 16)
  const gap = one(['none', 'none', 'clear', 'opaque'] as const)
  const border = one(['none', 'none', 'clear', 'opaque'] as const)
  const glass = one([within(3, 8), within(3, 8), within(25, 40)])
  const rises = one(['right', 'down', 'left', 'up'] as const)
  const tilt = one([within(-0.2, 0.2), within(-3, 3), within(-10, 10)])
  const gamma = one([1, 1.5, 1.8, 2.2, within(1, 2.2)])
  const mirrored = random() < 0.3
  const [black, gain, noise] = [within(0, 1500), within(30_000, 60_000), within(5, 40)]
  const rim = border === 'none' ? 0 : 2
  const length = count * pitch
  const turn = ((TURN[rises] + tilt) * Math.PI) / 180
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)]
  const [long, short] = [length + 2 * rim + 2 * glass, width + 2 * rim + 2 * glass]
  const columns = Math.round((long * Math.abs(cos) + short * Math.abs(sin)) / MM)
  const rows = Math.round((long * Math.abs(sin) + short * Math.abs(cos)) / MM)
  const code = (density: number) => black + gain * (10 ** -density) ** (1 / gamma)
  const codeOf = densities.map(code)
  const [open, clear, opaque] = [code(0), code(0.04), code(5)]
  const normal = normals(random)
  const half = gap === 'none' ? 0 : 0.2
  const codes = new Uint16Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const [x, y] = [(c - (columns - 1) / 2) * MM, (r - (rows - 1) / 2) * MM]
      const u = x * cos + y * sin + length / 2
      const v = (mirrored ? -1 : 1) * (y * cos - x * sin) + width / 2
      let value = open
      if (u >= -rim && u <= length + rim && v >= -rim && v <= width + rim) {
        value = border === 'opaque' ? opaque : border === 'clear' ? clear : open
        const k = Math.floor(u / pitch)
        if (k >= 0 && k < count && v >= 0 && v <= width) {
          const from = u - k * pitch
          const inGap = (k > 0 && from < half) || (k + 1 < count && from > pitch - half)
          value = !inGap ? codeOf[k]! : gap === 'clear' ? clear : opaque
        }
      }
      codes[r * columns + c] = Math.max(0, Math.min(65_535, Math.round(value + noise * normal())))
    }
  return {
    scan: memoryScan(codes, columns, rows, dpi),
    steps: densities.map((density, i) => ({ step: i + 1, density: Number(density.toFixed(2)), expanded: 0.02 })),
    codeOf,
    rises,
    words: `${count} steps of ${each.toFixed(2)} to the ${rises}, tilt ${tilt.toFixed(1)}, gamma ${gamma.toFixed(1)}, gap ${gap}, border ${border}, glass ${glass.toFixed(0)} mm`,
  }
}
