import { normalCdf } from '../../../src/imaging/normal.js'
import type { OpenScan, ScanHeader } from '../../../src/model/scan.js'
import { memoryScan } from '../../support/memory-scan.js'

/** mulberry32, from memory: a small seeded generator, good enough for test noise. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = state
    t = Math.imul(t ^ (t >>> 15), t | 1)
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61)
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

/** Standard normal values from a seeded generator (Box & Muller 1958). */
export function normals(random: () => number): () => number {
  let spare: number | null = null
  return () => {
    if (spare !== null) {
      const value = spare
      spare = null
      return value
    }
    const radius = Math.sqrt(-2 * Math.log(1 - random()))
    const turn = 2 * Math.PI * random()
    spare = radius * Math.sin(turn)
    return radius * Math.cos(turn)
  }
}

/** A scanner in one formula: code = black + gain * (T + veil)^(1/gamma) + noise. */
export interface TestScanner {
  readonly black: number
  readonly gain: number
  readonly gamma: number
  readonly noise: number
  /** Light that reaches the sensor whatever lies on the glass; 0 when absent. */
  readonly veil?: number
}

export interface TabletScene {
  readonly dpi: number
  readonly densities: readonly number[]
  readonly scanner: TestScanner
  readonly seed: number
  /** Where densities rise to on the page. */
  readonly rises?: 'right' | 'down' | 'left' | 'up'
  readonly tiltDegrees?: number
  readonly pitchMm?: number
  readonly widthMm?: number
  /** Open bed round the tablet, mm: ends and sides. */
  readonly bedMm?: { readonly ends: number; readonly sides: number }
  /** Clear film round the steps. */
  readonly margin?: { readonly endsMm: number; readonly sidesMm: number; readonly density: number }
  /** Lines between the steps, mm wide, of this transmittance. */
  readonly gap?: { readonly mm: number; readonly light: number }
  /** Opaque bars over the page: mm from the page's left or top, for `rises` right, turned with the tablet. */
  readonly opaque?: readonly {
    readonly x: number
    readonly y: number
    readonly width: number
    readonly height: number
  }[]
  /** Shift of the tablet along its axis, mm: pushes it off the glass. */
  readonly shiftMm?: number
  /** Dark specks per cm2. */
  readonly dust?: number
  /** Optical blur, one sigma, um. */
  readonly blurUm?: number
  /** Sharpening of the codes: amount of unsharp mask, along the rows and columns with a radius of `radius` px. */
  readonly sharpen?: { readonly amount: number; readonly radius: number }
  /** Fall of light from the middle of the page to its left and right side, share. */
  readonly shading?: number
  readonly header?: Partial<ScanHeader>
}

/** Draws a tablet on open light as a scanner would see it. Truth is in the arguments. */
export function tabletRaster(scene: TabletScene): OpenScan {
  const { dpi, densities, scanner } = scene
  const pitch = scene.pitchMm ?? 5
  const tabletWidth = scene.widthMm ?? 10
  const bed = scene.bedMm ?? { ends: 12, sides: 10 }
  const margin = scene.margin ?? { endsMm: 0, sidesMm: 0, density: 0 }
  const tilt = ((scene.tiltDegrees ?? 0) * Math.PI) / 180
  const rises = scene.rises ?? 'right'
  const random = seeded(scene.seed)
  const normal = normals(random)
  const mm = 25.4 / dpi
  const count = densities.length
  const lengthMm = count * pitch
  const long = lengthMm + 2 * (margin.endsMm + bed.ends) + Math.abs(Math.sin(tilt)) * tabletWidth
  const short = tabletWidth + 2 * (margin.sidesMm + bed.sides) + Math.abs(Math.sin(tilt)) * lengthMm
  const flat = rises === 'right' || rises === 'left'
  const width = Math.round((flat ? long : short) / mm)
  const height = Math.round((flat ? short : long) / mm)
  const sigma = (scene.blurUm ?? 30) / 1000
  const light = densities.map(d => 10 ** -d)
  const marginLight = margin.endsMm > 0 || margin.sidesMm > 0 ? 10 ** -margin.density : 1
  const step = (x: number) => normalCdf(x / sigma)
  const turn = tilt + { right: 0, down: 90, left: 180, up: 270 }[rises] * (Math.PI / 180)
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)]
  const specks = Array.from({ length: Math.round(((scene.dust ?? 0) * lengthMm * tabletWidth) / 100) }, () => ({
    u: (random() - 0.5) * lengthMm,
    v: (random() - 0.5) * tabletWidth,
    radius: 0.03 + 0.15 * random(),
  }))
  const plain = new Float32Array(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const x = (c - (width - 1) / 2) * mm
      const y = (r - (height - 1) / 2) * mm
      const u = x * cos + y * sin - (scene.shiftMm ?? 0)
      const v = -x * sin + y * cos
      const along = u + lengthMm / 2
      // Steps along the tablet: the light at the nearest boundary, blurred.
      const cell = Math.round(along / pitch)
      const before = cell <= 0 ? marginLight : light[Math.min(cell, count) - 1]!
      const after = cell >= count ? marginLight : light[Math.max(cell, 0)]!
      let value = before + (after - before) * step(along - Math.min(Math.max(cell, 0), count) * pitch)
      if (scene.gap !== undefined && cell >= 1 && cell <= count - 1) {
        const off = along - cell * pitch
        const cover = step(off + scene.gap.mm / 2) - step(off - scene.gap.mm / 2)
        value += (scene.gap.light - value) * cover
      }
      const across = step(v + tabletWidth / 2) * step(tabletWidth / 2 - v)
      value = marginLight + (value - marginLight) * across
      const [halfU, halfV] = [lengthMm / 2 + margin.endsMm, tabletWidth / 2 + margin.sidesMm]
      const film = step(u + halfU) * step(halfU - u) * step(v + halfV) * step(halfV - v)
      value = 1 + (value - 1) * film
      for (const speck of specks) {
        const [du, dv] = [u - speck.u, v - speck.v]
        if (Math.abs(du) < speck.radius + 0.1 && Math.abs(dv) < speck.radius + 0.1)
          value *= 1 - 0.9 * step(speck.radius - Math.hypot(du, dv))
      }
      for (const bar of scene.opaque ?? []) {
        const [bx, by] = [u + long / 2 - bar.x, v + short / 2 - bar.y]
        value *= 1 - step(bx) * step(bar.width - bx) * step(by) * step(bar.height - by)
      }
      value *= 1 - (scene.shading ?? 0) * ((2 * c) / (width - 1) - 1) ** 2
      plain[r * width + c] = scanner.black + scanner.gain * (value + (scanner.veil ?? 0)) ** (1 / scanner.gamma)
    }
  if (scene.sharpen !== undefined) unsharp(plain, width, height, scene.sharpen)
  const codes = new Uint16Array(width * height)
  for (let i = 0; i < codes.length; i++)
    codes[i] = Math.min(65535, Math.max(0, Math.round(plain[i]! + scanner.noise * normal())))
  return memoryScan(codes, width, height, dpi, scene.header)
}

/** Noise-free code of a density, for comparison. */
export function trueCode(scanner: TestScanner, density: number): number {
  return scanner.black + scanner.gain * (10 ** -density + (scanner.veil ?? 0)) ** (1 / scanner.gamma)
}

function unsharp(
  plain: Float32Array,
  width: number,
  height: number,
  sharpen: { readonly amount: number; readonly radius: number },
): void {
  const { amount, radius } = sharpen
  const soft = Float32Array.from(plain)
  for (const [stride, lines, length, jump] of [
    [1, height, width, width],
    [width, width, height, 1],
  ] as const) {
    for (let line = 0; line < lines; line++) {
      const row = Float64Array.from({ length }, (_, i) => soft[line * jump + i * stride]!)
      for (let i = 0; i < length; i++) {
        let sum = 0
        let n = 0
        for (let k = Math.max(0, i - radius); k <= Math.min(length - 1, i + radius); k++) {
          sum += row[k]!
          n++
        }
        soft[line * jump + i * stride] = sum / n
      }
    }
  }
  for (let i = 0; i < plain.length; i++) plain[i] = plain[i]! + amount * (plain[i]! - soft[i]!)
}
