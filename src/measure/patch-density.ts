import { median } from '../imaging/robust.js'
import type { DensityEstimate, LightScale } from '../model/light.js'
import type { Part, Reading } from '../model/reading.js'
import type { ReadPatch } from './film-evidence.js'

/** Density of one patch as a part of a reading: its mean code mapped once (ISO 5-1: D = -log10 T). */
export function patchPart(light: LightScale, patch: ReadPatch): Part {
  const density = light.density(patch.codes.mean, patch.codes.error)
  return {
    id: patch.id,
    place: {
      column: patch.rect.column + patch.rect.width / 2,
      row: patch.rect.row + patch.rect.height / 2,
    },
    value: density.density,
    expanded: 2 * density.standard,
    bound: density.bound,
  }
}

export function densityReading(density: DensityEstimate, n: number, parts: readonly Part[], method: string): Reading {
  return {
    value: density.density,
    unit: 'D',
    expanded: 2 * density.standard,
    bound: density.bound,
    n,
    parts,
    budget: density.budget,
    method,
  }
}

export interface AreaCodes {
  readonly area: number
  readonly mean: number
  readonly error: number
  readonly patches: readonly ReadPatch[]
}

/** Mean code of every solid: the mean over its patches. */
export function areaCodes(patches: readonly ReadPatch[]): AreaCodes[] {
  const areas = new Map<number, ReadPatch[]>()
  for (const patch of patches) {
    const list = areas.get(patch.area)
    if (list === undefined) areas.set(patch.area, [patch])
    else list.push(patch)
  }
  return [...areas.entries()].map(([area, list]) => ({
    area,
    patches: list,
    mean: list.reduce((sum, p) => sum + p.codes.mean, 0) / list.length,
    error: Math.sqrt(list.reduce((sum, p) => sum + p.codes.error ** 2, 0)) / list.length,
  }))
}

/** Code of the middle one of several means, with the error of one of them (they share everything else). */
export function middleCode(means: readonly { readonly mean: number; readonly error: number }[]): {
  mean: number
  error: number
} {
  return { mean: median(means.map(m => m.mean)), error: median(means.map(m => m.error)) }
}
