import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { Flaw, MeasuredFlaws } from '../model/flaw.js'
import type { FlawChanges } from '../model/growth.js'

/** What matching needs of one scan: its flaws and the length of its pixels. */
export interface FlawScan {
  readonly flaws: MeasuredFlaws
  readonly umPerPixel: { readonly across: number; readonly along: number }
  readonly width: number
  readonly height: number
}

/** The film is laid on its baseline to a tenth of a millimetre or two over a page; nearer than this two flaws are one. */
const SAME_PLACE_UM = 250
/** A flaw counts as grown when its open area has at least this ratio to what it was, and its diameter differs by more than both U. */
const GROWN = 1.5
/** Near the least size a flaw may be counted on one scan and not on the other: new ones must be larger than it by this ratio of diameters. */
const CLEARLY = 1.25

/**
 * Flaws of a film against those of its baseline: new, gone, stayed, grown. Each is matched to the nearest of its family (light, dark) at its place on the
 * other scan. One that lies outside the other scan, or that the other could not have found at its resolution, is in no list.
 * @param map um of the baseline's scan to um of the new one
 */
export function matchFlaws(before: FlawScan, after: FlawScan, map: PlaneMap): FlawChanges | null {
  if (before.flaws.tooMany || after.flaws.tooMany) return null
  const least = CLEARLY * Math.max(before.flaws.leastUm, after.flaws.leastUm)
  const placed = before.flaws.list.map(flaw => ({
    flaw,
    at: mapped(map, flaw.place.column * before.umPerPixel.across, flaw.place.row * before.umPerPixel.along),
  }))
  const taken = new Set<Flaw>()
  const fresh: string[] = []
  const grown: string[] = []
  let stayed = 0
  for (const flaw of after.flaws.list) {
    const x = flaw.place.column * after.umPerPixel.across
    const y = flaw.place.row * after.umPerPixel.along
    let best: (typeof placed)[number] | null = null
    let nearest = Number.POSITIVE_INFINITY
    for (const one of placed) {
      if (taken.has(one.flaw) || isDark(one.flaw) !== isDark(flaw)) continue
      const reach = SAME_PLACE_UM + 500 * Math.max(lengthOf(flaw), lengthOf(one.flaw))
      const off = Math.hypot(one.at.x - x, one.at.y - y)
      if (off <= reach && off < nearest) {
        nearest = off
        best = one
      }
    }
    if (best === null) {
      if (flaw.diameterUm >= least) fresh.push(flaw.id)
      continue
    }
    taken.add(best.flaw)
    stayed++
    const was = best.flaw
    if (
      flaw.leakedMm2 >= GROWN * was.leakedMm2 &&
      flaw.diameterUm - was.diameterUm > Math.hypot(flaw.expandedUm, was.expandedUm)
    )
      grown.push(flaw.id)
  }
  const gone = placed.filter(
    ({ flaw, at }) =>
      !taken.has(flaw) &&
      flaw.diameterUm >= least &&
      at.x >= 0 &&
      at.y >= 0 &&
      at.x < after.width * after.umPerPixel.across &&
      at.y < after.height * after.umPerPixel.along,
  )
  return {
    fresh,
    grown,
    stayed,
    gone: gone.map(({ flaw: { kind, diameterUm, possibleDust }, at }) => ({
      kind,
      diameterUm,
      possibleDust,
      place: { column: at.x / after.umPerPixel.across, row: at.y / after.umPerPixel.along },
    })),
    leastUm: least,
  }
}

const isDark = ({ kind }: Flaw) => kind === 'speck' || kind === 'hair'

/** A long flaw's middle may lie elsewhere once it has lengthened. */
const lengthOf = ({ lengthMm }: Flaw) => lengthMm ?? 0
