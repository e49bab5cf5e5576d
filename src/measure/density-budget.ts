import type { Component } from '../model/reading.js'

/** What stands behind the components that the light scale names. */
interface Source {
  readonly type: 'A' | 'B'
  /** Unit of the quantity; null: it is told in D already. */
  readonly unit: 'codes' | '1' | null
  /** Degrees of freedom; `patch`: those of the mean code. */
  readonly degreesOfFreedom: number | 'patch' | null
}

/** Blocks of a tablet step whose scatter gives its standard error (calibrate/step-codes.ts: 8 x 8, a tenth trimmed at each end), less one. */
const STEP_FREEDOM = 50

const SOURCES: Readonly<Record<string, Source>> = {
  tablet: { type: 'B', unit: null, degreesOfFreedom: null },
  fit: { type: 'A', unit: null, degreesOfFreedom: STEP_FREEDOM },
  noise: { type: 'A', unit: 'codes', degreesOfFreedom: 'patch' },
  'black drift': { type: 'B', unit: 'codes', degreesOfFreedom: null },
  'light drift': { type: 'B', unit: '1', degreesOfFreedom: null },
}
const OTHER: Source = { type: 'B', unit: null, degreesOfFreedom: null }

/** A density is off by this much for a light that is off by its own size. */
const DENSITY_PER_LIGHT = 1 / Math.LN10

/**
 * The light scale's budget of a density with each quantity's own standard uncertainty, sensitivity and degrees of freedom.
 * @param densityPerCode size of dD/dcode there, D
 * @param freedom degrees of freedom of the mean code's standard error, 1 or more
 */
export function densityBudget(budget: readonly Component[], densityPerCode: number, freedom: number): Component[] {
  return budget.map(({ name, standard }) => {
    const { type, unit, degreesOfFreedom } = SOURCES[name] ?? OTHER
    const sensitivity = unit === null ? 1 : unit === '1' ? DENSITY_PER_LIGHT : densityPerCode
    const known = sensitivity > 0 && Number.isFinite(sensitivity)
    return {
      name,
      standard,
      type,
      input: known ? { standard: standard / sensitivity, unit: unit ?? 'D' } : { standard, unit: 'D' },
      sensitivity: known ? sensitivity : 1,
      degreesOfFreedom: degreesOfFreedom === 'patch' ? freedom : degreesOfFreedom,
    }
  })
}
