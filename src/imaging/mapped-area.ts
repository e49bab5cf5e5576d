import type { DensityScan } from '../model/light.js'
import type { SolidArea } from '../model/located.js'
import { mapped, type PlaneMap } from './fit-plane-map.js'

/** A rectangle on axes of its own, mm, that a map lays on the scan. */
export interface MappedRect {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** A rectangle that leaves the scan is followed by steps of this, mm. */
const STEP_MM = 0.5

/** The same on the scan, mm; `xIsFirst` tells whether its x runs along the first axis. */
export interface MappedArea extends Omit<SolidArea, 'id' | 'feed'> {
  readonly xIsFirst: boolean
}

/**
 * A rectangle as an area of the scan, clear of its edges by a margin, as far along x as it lies on the scan: the longest part that does.
 * @param map its axes, mm, to pixels of the scan; a shear of a thousandth is left out
 * @returns null when less than `leastMm` along x is in view
 */
export function mappedArea(
  field: MappedRect,
  map: PlaneMap,
  { scan, umPerPixel }: Pick<DensityScan, 'scan' | 'umPerPixel'>,
  marginMm: number,
  leastMm: number,
): MappedArea | null {
  const { width, height } = scan.header
  const top = field.y + marginMm
  const bottom = field.y + field.height - marginMm
  const from = field.x + marginMm
  const steps = Math.floor((field.width - 2 * marginMm) / STEP_MM + 1e-9)
  let best = { first: 0, count: 0 }
  let first = 0
  for (let k = 0; k <= steps + 1; k++) {
    const seen =
      k <= steps &&
      [top, bottom].every(y => {
        const at = mapped(map, from + k * STEP_MM, y)
        return at.x >= 0 && at.y >= 0 && at.x <= width - 1 && at.y <= height - 1
      })
    if (seen) continue
    if (k - 1 - first > best.count) best = { first, count: k - 1 - first }
    first = k + 1
  }
  const long = best.count * STEP_MM
  if (!(long >= leastMm && bottom > top)) return null
  const mmX = umPerPixel.across / 1000
  const mmY = umPerPixel.along / 1000
  const angle = (Math.atan2(map.yx * mmY, map.xx * mmX) * 180) / Math.PI
  const quarters = Math.round(angle / 90)
  // The first axis is the one within 45 degrees of the scan's rows, as of every solid of the film.
  const xIsFirst = quarters % 2 === 0
  const length = long * Math.hypot(map.xx * mmX, map.yx * mmY)
  const across = (bottom - top) * Math.hypot(map.xy * mmX, map.yy * mmY)
  const middle = mapped(map, from + best.first * STEP_MM + long / 2, (top + bottom) / 2)
  return {
    x: middle.x * mmX,
    y: middle.y * mmY,
    turn: angle - 90 * quarters,
    first: xIsFirst ? length : across,
    second: xIsFirst ? across : length,
    xIsFirst,
  }
}
