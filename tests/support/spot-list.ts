import { blockOverview } from '../../src/imaging/block-overview.js'
import { type FoundSpots, findSpots } from '../../src/imaging/find-spots.js'
import { memoryScan } from './memory-scan.js'

/** Light of clear film and of ink on painted pages whose code is 60000 T. */
export const CLEAR = 0.9
export const BLACK = 0.001

/** Light and dark spots of a page painted by a rule of (column, row) to light, with its overview of blocks of four pixels. */
export function spotsOf(width: number, height: number, light: (column: number, row: number) => number) {
  const codes = Uint16Array.from({ length: width * height }, (_, i) =>
    Math.round(60_000 * light(i % width, Math.floor(i / width))),
  )
  const scan = memoryScan(codes, width, height, 600)
  const overview = blockOverview(
    scan,
    4,
    Float32Array.from({ length: 65536 }, (_, code) => code / 60_000),
  )
  const levels = { lightAbove: 7000, middle: 27_000, darkBelow: 47_000 }
  const found: FoundSpots = findSpots(scan, overview, levels, { longestPx: 300, most: 10_000 })
  return { ...found, overview }
}

/** Number of the spot that covers a place. */
export function spotAt(spots: FoundSpots['light'], column: number, row: number): number {
  for (let i = 0; i < spots.count; i++)
    if (column >= spots.left[i]! && column <= spots.right[i]! && row >= spots.top[i]! && row <= spots.bottom[i]!)
      return i
  throw new RangeError(`no spot at ${column}, ${row}`)
}
