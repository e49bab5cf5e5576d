import { choiceOfExtreme } from './choice-of-extreme.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { densityReading, patchDensity, patchPart } from './patch-density.js'

export const SOLID_DENSITY_LOWEST_METHOD = 'solidDensityLowest@1'

/**
 * Density of the lightest 1.0 mm square inside any solid, and where. Candidates are the lightest square of every solid on the overview
 * and the squares read for `solidDensity`. D, 0 upward; bound as `solidDensity`. Assumes dust is lighter in only a few pixels, which
 * are left out. Error floor: as `solidDensity`; being the least of many it leans low by a few thousandths of D.
 */
export function measureSolidDensityLowest(film: FilmEvidence): Measured {
  const candidates = [...film.lightest, ...film.solids]
  if (candidates.length === 0)
    return notMeasured(
      'solidDensityLowest',
      'no solid of 1.6 mm or more was found on the film',
      'print the positive with a solid patch in its margin',
    )
  const all = candidates.map(patch => ({ patch, density: patchDensity(film.scan, patch) }))
  // By what is known of each: of places too deep to tell, the lowest is only as deep as the least of their bounds.
  const lightest = all.reduce((best, one) => (one.density.density < best.density.density ? one : best))
  const noise = lightest.density.budget.find(c => c.name === 'noise')?.standard ?? 0
  const choice = choiceOfExtreme(
    all.map(one => one.density.density),
    lightest.density.density,
    noise,
    'D',
  )
  return densityReading(
    { ...lightest.density, budget: [...lightest.density.budget, choice] },
    candidates.length,
    [patchPart(film.scan, lightest.patch)],
    SOLID_DENSITY_LOWEST_METHOD,
  )
}
