import type { BlockOverview } from '../imaging/block-overview.js'
import { labelComponents } from '../imaging/label-components.js'
import type { LevelledBlocks } from '../imaging/lighter-blocks.js'
import { median, robustDeviation } from '../imaging/robust.js'
import { type Regions, SOLID } from './find-light.js'

/** Light of the solid that each block lies in, as most of its blocks show it, and how far its blocks scatter. */
export interface InkLevel {
  /** Rows x columns: number of the solid from 1; 0 where there is none. */
  readonly area: Int32Array
  /** By that number. */
  readonly light: Float32Array
  readonly scatter: Float32Array
  /** Middle light of all solids; null without any. */
  readonly middle: number | null
}

/** So many blocks tell the level of a solid as well as all. */
const SAMPLES = 400

export function inkLevel({ columns, rows, light }: BlockOverview, regions: Regions): InkLevel {
  const { labels, groups } = labelComponents(regions.labels, columns, rows, SOLID)
  const levels = new Float32Array(groups.length + 1)
  const scatter = new Float32Array(groups.length + 1)
  // Every so many blocks of each, in reading order, whatever its shape.
  const steps = groups.map(g => Math.max(1, Math.floor(g.cells / SAMPLES)))
  const met = new Int32Array(groups.length)
  const samples: number[][] = groups.map(() => [])
  for (let i = 0; i < labels.length; i++) {
    const g = labels[i]! - 1
    if (g >= 0 && met[g]!++ % steps[g]! === 0) samples[g]!.push(light[i]!)
  }
  groups.forEach((g, k) => {
    levels[g.label] = median(samples[k]!)
    scatter[g.label] = robustDeviation(samples[k]!)
  })
  const large = groups.filter(g => g.cells >= 9)
  const told = (large.length > 0 ? large : groups).map(g => levels[g.label]!)
  return { area: labels, light: levels, scatter, middle: told.length > 0 ? median(told) : null }
}

/** The blocks with the level of the solid each lies in. */
export function levelled(light: Float32Array, { labels }: Regions, ink: InkLevel): LevelledBlocks {
  return { light, labels, label: SOLID, area: ink.area, levels: ink.light }
}
