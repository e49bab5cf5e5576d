import { median } from '../imaging/robust.js'
import { patchDensity } from '../measure/patch-density.js'
import { readPatch } from '../measure/read-patch.js'
import type { DensityScan } from '../model/light.js'
import type { Patch } from '../model/located.js'
import type { Reading } from '../model/reading.js'

/** A film without any solid to read: what a usable positive has, and how unsure that is. */
const USUAL_NET = { value: 3, standard: 0.6 }
/** Light below 10^-4.5 of the base's moves no edge. */
const DEEPEST_NET = 4.5
/** Less than this is no ink. */
const LEAST_NET = 0.5
/** Deeper than the scanner can tell, the density of the solids is known only this well, D. */
const DEEP_ERROR = 0.3

interface InkedScan {
  readonly scan: DensityScan
  readonly regions: { readonly base: number | null }
  readonly solids: readonly Patch[]
}

/**
 * Density of full ink above base, for the shape of the strokes' edges. One value for both scans, from the surer look (of equals the deeper), so
 * that a scanner which sees less deep does not look like a change of shape; only a loss beyond its uncertainty parts them.
 */
export function netDensity(
  before: InkedScan,
  after: InkedScan,
  loss: Pick<Reading, 'value' | 'expanded' | 'bound'> | null,
): { readonly before: number; readonly after: number; readonly standard: number } {
  const looks = [before, after].flatMap(({ scan, regions, solids }) => {
    if (solids.length === 0 || regions.base === null) return []
    const read = solids.map(patch => patchDensity(scan, { ...patch, codes: readPatch(scan.scan, patch.rect) }))
    const base = -Math.log10(regions.base)
    const open = read.filter(d => d.bound !== null).length * 2 > read.length
    return [{ value: median(read.map(d => d.guess)) - base, standard: open ? DEEP_ERROR : 0.02 }]
  })
  const best = [...looks].sort((a, b) => a.standard - b.standard || b.value - a.value)[0] ?? USUAL_NET
  const within = (value: number) => Math.min(DEEPEST_NET, Math.max(LEAST_NET, value))
  const lost = loss !== null && loss.bound === null && Math.abs(loss.value) > loss.expanded ? loss.value : 0
  // The look that was taken may be either scan's: the other lies a loss away.
  const then = best === looks[0] || lost === 0 ? best.value : best.value + lost
  return { before: within(then), after: within(then - lost), standard: best.standard }
}
