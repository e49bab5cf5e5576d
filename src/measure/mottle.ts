import { TILE_MM } from '../imaging/solid-field.js'
import { tileSpread } from '../imaging/tile-spread.js'
import type { Component } from '../model/reading.js'
import { rmsError } from './banding.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { SolidRipple } from './solid-ripple.js'
import { unseenRipple } from './unseen-ripple.js'

/** Fewer degrees of freedom tell no spread. */
const FEWEST_FREE = 6

/**
 * Mottle: standard deviation of the ink (net density over its mean) of square tiles of 1.27 mm in the large solids, %, after ISO/IEC 13660:2001 (its tile and
 * formula), in ink rather than density. Each row's and each column's own mean is taken out, and bands and slow slopes
 * with it; so is the pixels' own noise (half of a tile's pixels against the other half). 0 upward. Error floor: by the number of tiles, a tenth of the value with 50.
 */
export function measureMottle(film: FilmEvidence): Measured {
  const { ripple, scan } = film
  const unseen = unseenRipple('mottle', ripple)
  if (unseen !== null || ripple === undefined) return unseen!
  // A single row of tiles, as a strip's rail has, tells none: its own mean is taken out.
  const told = ripple.solids.map(solid => ({ solid, ...mottleOf(solid) })).filter(one => one.free > 0)
  const free = told.reduce((sum, one) => sum + one.free, 0)
  if (free < FEWEST_FREE)
    return notMeasured(
      'mottle',
      `the solids hold too few tiles of ${TILE_MM} mm`,
      'print the positive with a solid patch of 12 mm or more in its margin',
    )
  const mean = (value: (one: (typeof told)[number]) => number) =>
    told.reduce((sum, one) => sum + one.free * value(one), 0) / free
  const variance = mean(one => one.seen) - mean(one => one.noise)
  const value = Math.sqrt(Math.max(0, variance))
  // Standard error of a variance from normal deviates: sqrt(2 / nu) of it.
  const error = Math.sqrt(2 / free) * mean(one => one.seen)
  const scale = Math.max(...told.map(({ solid }) => Math.hypot(solid.scale, solid.base)))
  const budget: Component[] = [
    { name: 'tiles', standard: 100 * rmsError(variance, error), type: 'A', degreesOfFreedom: null },
    {
      name: 'light scale',
      standard: 100 * value * scale,
      type: 'B',
      input: { standard: scale, unit: '1' },
      sensitivity: 100 * value,
      degreesOfFreedom: null,
    },
  ]
  return {
    value: 100 * value,
    unit: '%',
    ...expandedUncertainty(budget),
    bound: null,
    n: told.reduce((sum, { solid }) => sum + solid.tiles.ink.length, 0),
    parts: told.map(({ solid, seen, noise, free: own }) => {
      const { area } = solid.field
      const variance1 = Math.max(0, seen - noise)
      return {
        id: area.id,
        place: { column: (1000 * area.x) / scan.umPerPixel.across, row: (1000 * area.y) / scan.umPerPixel.along },
        value: 100 * Math.sqrt(variance1),
        expanded: 200 * rmsError(variance1, Math.sqrt(2 / Math.max(1, own)) * seen),
        bound: null,
        note: `${solid.tiles.ink.length} tiles`,
      }
    }),
    budget,
    method: 'mottle@1',
  }
}

/** Variances of one solid's tiles: as seen, and of the pixels' noise. */
function mottleOf({ tiles }: SolidRipple): { readonly seen: number; readonly noise: number; readonly free: number } {
  const { variance, free } = tileSpread(tiles.ink, tiles.columns, 'rowsAndColumns')
  return { seen: variance, noise: tiles.noiseVariance, free }
}
