import type { GridPicture } from '../imaging/find-placement.js'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import { chooseStrokes } from './choose-strokes.js'
import { evenBlur } from './even-blur.js'
import { findStrokes } from './find-strokes.js'
import {
  acrossScale,
  mapByMiddles,
  measureOn,
  movedStroke,
  type PairedStroke,
  type StrokeScan,
  seenRise,
} from './pair-strokes.js'

/** Strokes tried, and how many measured on both scans are enough. */
const MOST_TRIED = 150
const ENOUGH = 72

export interface ComparedStrokes {
  readonly pairs: readonly ComparedStroke[]
  readonly map: PlaneMap
  /** rms distance of the strokes' middles from the map, um; null when they do not hold it. */
  readonly scatter: number | null
  readonly tried: number
  readonly faults: Readonly<Record<string, number>>
}

/** One stroke on both scans; widths on the baseline's scale. */
export interface ComparedStroke extends PairedStroke {
  readonly widthBefore: number
  readonly widthAfter: number
  /** Movement of its edges outwards from the ink, each, um. */
  readonly growth: number
  /** 10-90 % rise of each scanner alone across it, um. */
  readonly riseBefore: number
  readonly riseAfter: number
}

/** Measures strokes of the baseline on both scans, chosen over the page. */
export function compareStrokes(
  page: GridPicture,
  before: StrokeScan,
  after: StrokeScan,
  start: PlaneMap,
): ComparedStrokes {
  const strokes = chooseStrokes(findStrokes(page), page, MOST_TRIED)
  const riseBefore = seenRise(before, strokes)
  const riseAfter = seenRise(
    after,
    strokes.map(stroke => movedStroke(stroke, start)),
  )
  const pairs: PairedStroke[] = []
  const faults: Record<string, number> = {}
  let tried = 0
  for (const stroke of strokes) {
    if (pairs.length >= ENOUGH) break
    const moved = movedStroke(stroke, start)
    // Out of view costs nothing: it is asked first.
    tried++
    const own = measureOn(before, stroke, riseBefore)
    if (typeof own === 'string') {
      faults[own] = (faults[own] ?? 0) + 1
      continue
    }
    const at = mapped(start, own.x, own.y)
    const other = measureOn(after, { ...moved, x: at.x, y: at.y }, riseAfter)
    if (typeof other === 'string') {
      faults[`after ${other}`] = (faults[`after ${other}`] ?? 0) + 1
      continue
    }
    pairs.push(evenBlur({ stroke, before: own, after: other }, before, after))
  }
  const { map, scatter } = mapByMiddles(pairs, start)
  const scans = { before, after }
  return {
    pairs: pairs.map(pair => {
      const { before, after, stroke } = pair
      const scale = Math.abs(acrossScale(map, before.nx, before.ny, after.nx, after.ny))
      const widthAfter = after.halfWidth / scale
      const widening = widthAfter - before.halfWidth
      return {
        ...pair,
        widthBefore: before.halfWidth,
        widthAfter,
        riseBefore: scans.before.nodes(before.nx, before.ny).nodes.rise,
        riseAfter: scans.after.nodes(after.nx, after.ny).nodes.rise,
        growth: (stroke.kind === 'line' ? widening : -widening) / 2,
      }
    }),
    map,
    scatter,
    tried,
    faults,
  }
}
