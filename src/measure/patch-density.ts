import type { PixelPoint } from '../model/geometry.js'
import type { DensityEstimate, DensityScan } from '../model/light.js'
import type { Part, Reading } from '../model/reading.js'
import { densityBudget } from './density-budget.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import type { ReadPatch } from './film-evidence.js'

/** Density of one patch: its mean code mapped once (ISO 5-1: D = -log10 T), flare taken out by the light round it. */
export function patchDensity(scan: DensityScan, patch: ReadPatch): DensityEstimate {
  const { mean, error, degreesOfFreedom } = patch.codes
  const estimate = scan.light.density(mean, error, patchSurround(scan, patch), [patchPlace(patch)])
  return withSources(estimate, error, degreesOfFreedom)
}

function patchPlace({ rect }: ReadPatch): PixelPoint {
  return { column: rect.column + rect.width / 2, row: rect.row + rect.height / 2 }
}

/** The estimate with each component's own quantity, sensitivity and degrees of freedom. */
function withSources(estimate: DensityEstimate, codeError: number, freedom: number): DensityEstimate {
  const noise = estimate.budget.find(c => c.name === 'noise')?.standard ?? 0
  return {
    ...estimate,
    budget: densityBudget(estimate.budget, codeError > 0 ? noise / codeError : 0, freedom),
  }
}

function patchSurround(scan: DensityScan, patch: ReadPatch): readonly number[] | undefined {
  const { column, row } = patchPlace(patch)
  return scan.surround?.(column, row)
}

/** Light round several patches, the mean at each reach of the flare. */
function meanSurround(scan: DensityScan, patches: readonly ReadPatch[]): readonly number[] | undefined {
  const around = patches.flatMap(patch => [patchSurround(scan, patch) ?? []])
  const first = around[0]!
  return scan.surround === undefined
    ? undefined
    : first.map((_, k) => around.reduce((sum, list) => sum + list[k]!, 0) / around.length)
}

/** Density of one patch as a part of a reading: its mean code mapped once (ISO 5-1: D = -log10 T). */
export function patchPart(scan: DensityScan, patch: ReadPatch): Part {
  const density = patchDensity(scan, patch)
  return {
    id: patch.id,
    place: patchPlace(patch),
    value: density.density,
    expanded: expandedUncertainty(density.budget).expanded,
    bound: density.bound,
  }
}

export function densityReading(density: DensityEstimate, n: number, parts: readonly Part[], method: string): Reading {
  return {
    value: density.density,
    unit: 'D',
    ...expandedUncertainty(density.budget),
    bound: density.bound,
    n,
    parts,
    budget: density.budget,
    method,
  }
}

/** Density of every solid: the mean code over its patches mapped once, in the mean of their surroundings. */
export function areaDensities(scan: DensityScan, patches: readonly ReadPatch[]): DensityEstimate[] {
  const areas = new Map<number, ReadPatch[]>()
  for (const patch of patches) {
    const list = areas.get(patch.area)
    if (list === undefined) areas.set(patch.area, [patch])
    else list.push(patch)
  }
  return [...areas.values()].map(list => {
    const mean = list.reduce((sum, p) => sum + p.codes.mean, 0) / list.length
    const error = Math.sqrt(list.reduce((sum, p) => sum + p.codes.error ** 2, 0)) / list.length
    const freedom = list.reduce((sum, p) => sum + p.codes.degreesOfFreedom, 0)
    const estimate = scan.light.density(mean, error, meanSurround(scan, list), list.map(patchPlace))
    return withSources(estimate, error, freedom)
  })
}

/**
 * The middle one of several densities with the budget of one of them: they share the calibration's error. Of an even number the two
 * in the middle are averaged. A bound when one of those is a bound: the middle is then at least so deep.
 * @throws RangeError on an empty list
 */
export function middleDensity(densities: readonly DensityEstimate[]): DensityEstimate {
  if (densities.length === 0) throw new RangeError('middleDensity needs at least one density')
  const sorted = [...densities].sort((a, b) => a.density - b.density)
  const low = sorted[(sorted.length - 1) >> 1]!
  const high = sorted[sorted.length >> 1]!
  return {
    ...low,
    density: (low.density + high.density) / 2,
    guess: (low.guess + high.guess) / 2,
    bound: low.bound ?? high.bound,
  }
}
