import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import { median } from '../imaging/robust.js'
import { patchDensity } from '../measure/patch-density.js'
import { readPatch } from '../measure/read-patch.js'
import type { DensityEstimate, DensityScan } from '../model/light.js'
import type { Patch } from '../model/located.js'
import type { Component, NotMeasured, Part, Reading } from '../model/reading.js'
import { combineGrowth, expandedOf } from './combine-growth.js'

export const DENSITY_LOSS_METHOD = 'densityLoss@1'

/** The patch is read this much smaller than it was found, so that a misplacement of a tenth of a millimetre leaves it inside the solid. */
const INNER = 0.8

interface PatchLoss {
  readonly id: string
  readonly place: { readonly column: number; readonly row: number }
  readonly before: DensityEstimate
  readonly after: DensityEstimate
}

/**
 * Density that the same places of the same solids have lost since the baseline, D; negative where they gained. Each scan through its own
 * calibration. With one calibration for both, what is not known of the tablet and of the curve is common to both and cancels as far as the
 * densities are alike; what is not known of each scan's own noise, lamp and black does not.
 * @param sameTablet both calibrations go back to one tablet: its certificate's error is then common
 */
export function densityLoss(
  before: DensityScan,
  after: DensityScan,
  solids: readonly Patch[],
  map: PlaneMap,
  known: { readonly sameCalibration: boolean; readonly sameTablet: boolean },
): Reading | NotMeasured {
  const next = 'scan with solids of at least 1.6 mm in view'
  if (solids.length === 0) return { reading: 'densityLoss', because: 'the baseline shows no solid to compare', next }
  const losses = solids.flatMap(patch => lossOf(before, after, patch, map) ?? [])
  if (losses.length === 0) return { reading: 'densityLoss', because: 'none of the baseline’s solids is in view', next }
  const open = losses.filter(loss => loss.before.bound !== null && loss.after.bound !== null)
  if (open.length > losses.length / 2)
    return {
      reading: 'densityLoss',
      because: 'the solids are deeper than the scanner can tell, then and now',
      next: 'scan as a bracket at rising exposure, or read the solids on a transmission densitometer',
    }
  const bounded = losses.filter(loss => loss.before.bound !== null || loss.after.bound !== null)
  const some = bounded.length > losses.length / 2
  const used = some ? bounded : losses.filter(loss => loss.before.bound === null && loss.after.bound === null)
  // Deeper then than could be told: at least so much was lost. Deeper now: at most so much.
  const bound = !some ? null : used.filter(l => l.before.bound !== null).length * 2 > used.length ? 'atLeast' : 'atMost'
  const changes = used.map(loss => ({
    value: loss.before.density - loss.after.density,
    standard: Math.hypot(part(loss.before, 'noise'), part(loss.after, 'noise')),
  }))
  const { value, standard } = combineGrowth(changes)
  const budget: Component[] = [{ name: 'solids', standard }, ...shared(used, known)]
  return {
    value,
    unit: 'D',
    expanded: expandedOf(budget),
    bound,
    n: used.length,
    parts: used.map(
      ({ id, place }, i): Part => ({
        id,
        place,
        value: changes[i]!.value,
        expanded: 2 * Math.hypot(changes[i]!.standard, ...budget.slice(1).map(c => c.standard)),
        bound: bound === null ? null : bound,
      }),
    ),
    budget,
    method: DENSITY_LOSS_METHOD,
  }
}

function lossOf(before: DensityScan, after: DensityScan, patch: Patch, map: PlaneMap): PatchLoss | null {
  const column = patch.rect.column + (patch.rect.width - 1) / 2
  const row = patch.rect.row + (patch.rect.height - 1) / 2
  const to = mapped(map, column * before.umPerPixel.across, row * before.umPerPixel.along)
  const place = { column: to.x / after.umPerPixel.across, row: to.y / after.umPerPixel.along }
  const width = INNER * patch.rect.width * before.umPerPixel.across
  const height = INNER * patch.rect.height * before.umPerPixel.along
  const own = densityAt(before, column, row, width, height)
  const other = densityAt(after, place.column, place.row, width, height)
  return own === null || other === null ? null : { id: patch.id, place, before: own, after: other }
}

function densityAt(
  scan: DensityScan,
  column: number,
  row: number,
  widthUm: number,
  heightUm: number,
): DensityEstimate | null {
  const width = Math.max(4, Math.round(widthUm / scan.umPerPixel.across))
  const height = Math.max(4, Math.round(heightUm / scan.umPerPixel.along))
  const rect = { column: Math.round(column - width / 2), row: Math.round(row - height / 2), width, height }
  const page = scan.scan.header
  const inside =
    rect.column >= 0 && rect.row >= 0 && rect.column + width <= page.width && rect.row + height <= page.height
  if (!inside) return null
  return patchDensity(scan, { id: '', kind: 'solid', area: 0, rect, codes: readPatch(scan.scan, rect) })
}

function part(estimate: DensityEstimate, name: string): number {
  return estimate.budget.find(component => component.name === name)?.standard ?? 0
}

/** What the two share of these stays the same whichever scan it is met on. */
const OF_THE_TABLET = ['tablet']
const OF_THE_CALIBRATION = ['tablet', 'fit', 'black']

/** Components that are not each patch's own noise, middle of the patches: `then` and `now`, or what is left of them when they are common. */
function shared(
  losses: readonly PatchLoss[],
  { sameCalibration, sameTablet }: { sameCalibration: boolean; sameTablet: boolean },
): Component[] {
  const common = sameCalibration ? OF_THE_CALIBRATION : sameTablet ? OF_THE_TABLET : []
  const names = new Set(losses.flatMap(l => [...l.before.budget, ...l.after.budget].map(c => c.name)))
  names.delete('noise')
  return [...names].map(name => ({
    name,
    standard: median(
      losses.map(loss => {
        const then = part(loss.before, name)
        const now = part(loss.after, name)
        return common.includes(name) ? Math.abs(then - now) : Math.hypot(then, now)
      }),
    ),
  }))
}
