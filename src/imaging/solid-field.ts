import type { DensityScan, LightScale } from '../model/light.js'
import type { SolidArea } from '../model/located.js'
import { turnedSums } from './turned-sums.js'

/** Light of one large solid, gathered along and across its own axes in one pass over its pixels. */
export interface SolidField {
  readonly area: SolidArea
  /** Mean light as the scanner sees it, T. */
  readonly light: number
  /** Mean light by place along the first axis, strip by strip, and along the second. */
  readonly first: StripLight
  readonly second: StripLight
  /** Mean light of each whole tile, row by row, and of either half of its pixels (every other one). */
  readonly tiles: readonly { readonly mean: number; readonly even: number; readonly odd: number }[]
}

export interface StripLight {
  /** Side by side across the direction; each of the same length. */
  readonly strips: readonly Float64Array[]
  readonly stepMm: number
  /** Width of all strips together, mm. */
  readonly widthMm: number
}

/** Strips side by side: enough to tell noise from ripple, each wider than grain is long. */
const STRIPS = 8
/** Samples are a pixel apart, but no finer than this, mm: a twelfth of the shortest pitch looked for. */
const LEAST_STEP_MM = 0.02
/** Side of a tile: 1.27 mm as ISO/IEC 13660:2001 takes it. */
export const TILE_MM = 1.27
/** Rows of the scan are read so many at a time. */
const BAND_ROWS = 128

/** What of a scan light is read from. */
export type SeenLight = Pick<DensityScan, 'scan' | 'umPerPixel'> & { readonly light: Pick<LightScale, 'transmittance'> }

/** Reads one large solid. Light is averaged as T, along the band, before any logarithm. */
export function readSolidField(scan: SeenLight, area: SolidArea): SolidField {
  const mmX = scan.umPerPixel.across / 1000
  const mmY = scan.umPerPixel.along / 1000
  const { width, height } = scan.scan.header
  const cos = Math.cos((area.turn * Math.PI) / 180)
  const sin = Math.sin((area.turn * Math.PI) / 180)
  const step = Math.max(LEAST_STEP_MM, Math.sqrt(mmX * mmY))
  const first = samples(area.first, step)
  const second = samples(area.second, step)
  const across = Math.floor(area.first / TILE_MM)
  const down = Math.floor(area.second / TILE_MM)
  const halfS = area.first / 2
  const halfT = area.second / 2
  const reachX = halfS * Math.abs(cos) + halfT * Math.abs(sin)
  const reachY = halfS * Math.abs(sin) + halfT * Math.abs(cos)
  const left = Math.max(0, Math.ceil((area.x - reachX) / mmX))
  const right = Math.min(width - 1, Math.floor((area.x + reachX) / mmX))
  const top = Math.max(0, Math.ceil((area.y - reachY) / mmY))
  const bottom = Math.min(height - 1, Math.floor((area.y + reachY) / mmY))
  const wide = Math.max(0, right - left + 1)
  const loop = turnedSums({
    table: scan.light.transmittance,
    bandPixels: wide * BAND_ROWS,
    pixelMm: mmX,
    originMm: area.x,
    cos,
    sin,
    first: { lengthMm: area.first, samples: first.count, tiles: across },
    second: { lengthMm: area.second, samples: second.count, tiles: down },
    strips: STRIPS,
    tileMm: TILE_MM,
  })
  for (let from = top; from <= bottom; from += BAND_ROWS) {
    const rows = Math.min(BAND_ROWS, bottom + 1 - from)
    const { codes } = scan.scan.readWindow({ column: left, row: from, width: wide, height: rows })
    loop.codes.set(codes)
    for (let r = 0; r < rows; r++) {
      const y = (from + r) * mmY - area.y
      // Columns of this row that lie inside both pairs of sides.
      const [c0, c1] = inside(y * sin, cos, halfS, y * cos, -sin, halfT, (area.x - left * mmX) / mmX, mmX)
      const start = Math.max(left, left + c0)
      const end = Math.min(right, left + c1) + 1
      if (end <= start) continue
      loop.addRow(r * wide + start - left, start, end, { s: y * sin, t: y * cos, row: from + r })
    }
  }
  const { sums } = loop
  const alongT = 2 * STRIPS * first.count
  const tiles = alongT + 2 * STRIPS * second.count
  let sum = 0
  let count = 0
  for (let i = 0; i < alongT; i += 2) {
    sum += sums[i]!
    count += sums[i + 1]!
  }
  return {
    area,
    light: count > 0 ? sum / count : 0,
    first: meansOf(sums.subarray(0, alongT), first, area.second),
    second: meansOf(sums.subarray(alongT, tiles), second, area.first),
    tiles: Array.from({ length: across * down }, (_, i) => {
      const [even, evens, odd, odds] = sums.subarray(tiles + 4 * i, tiles + 4 * i + 4) as unknown as [
        number,
        number,
        number,
        number,
      ]
      return { mean: (even + odd) / (evens + odds), even: even / evens, odd: odd / odds }
    }),
  }
}

interface Samples {
  readonly step: number
  readonly count: number
}

/** A length cut into a whole number of steps. */
function samples(lengthMm: number, stepMm: number): Samples {
  const count = Math.max(1, Math.floor(lengthMm / stepMm))
  return { step: lengthMm / count, count }
}

function meansOf(sums: Float64Array, { step, count }: Samples, widthMm: number): StripLight {
  const all = Array.from({ length: STRIPS }, (_, k) => {
    const means = new Float64Array(count)
    for (let i = 0; i < count; i++) {
      const at = 2 * (k * count + i)
      means[i] = sums[at + 1]! > 0 ? sums[at]! / sums[at + 1]! : Number.NaN
    }
    return filled(means)
  })
  return { strips: all, stepMm: step, widthMm }
}

/** A sample without a pixel, as may happen on a film that lies square, takes its neighbours' middle. */
function filled(means: Float64Array): Float64Array {
  let last = means.find(value => !Number.isNaN(value)) ?? 0
  for (let i = 0; i < means.length; i++) {
    if (Number.isNaN(means[i]!)) {
      const next = means.subarray(i).find(value => !Number.isNaN(value)) ?? last
      means[i] = (last + next) / 2
    }
    last = means[i]!
  }
  return means
}

/** First and last column, from `origin` columns before the middle, for which |a + b x| < halfA and |c + d x| < halfC. */
function inside(
  a: number,
  b: number,
  halfA: number,
  c: number,
  d: number,
  halfC: number,
  origin: number,
  mmX: number,
): [number, number] {
  let low = Number.NEGATIVE_INFINITY
  let high = Number.POSITIVE_INFINITY
  for (const [offset, slope, half] of [
    [a, b, halfA],
    [c, d, halfC],
  ] as const) {
    if (Math.abs(slope) < 1e-9) {
      if (Math.abs(offset) >= half) return [1, 0]
      continue
    }
    const one = (-half - offset) / slope
    const two = (half - offset) / slope
    low = Math.max(low, Math.min(one, two))
    high = Math.min(high, Math.max(one, two))
  }
  return [Math.ceil(low / mmX + origin), Math.floor(high / mmX + origin)]
}
