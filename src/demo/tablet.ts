import { checkedFilm, type Film } from './film.js'

/** A make-believe step tablet. */
export interface Tablet {
  readonly film: Film
  /** Density of each step, step 1 first (at u = 0). */
  readonly densities: readonly number[]
  /** Centre of each step on the film, mm. */
  readonly centres: readonly { readonly u: number; readonly v: number }[]
}

export interface TabletPlan {
  /** Any rising or uneven list, as the certificate has it. */
  readonly densities: readonly number[]
  readonly stepMm: number
  /** Width of the steps across the run, mm. */
  readonly widthMm: number
  /** Clear film left all round the steps, mm, of density `marginDensity`. */
  readonly marginMm?: number
  readonly marginDensity?: number
}

/** Even steps, step 1 the clearest: 21 of 0.15 or 31 of 0.10 from 0.05 are the usual ones. */
export function evenSteps(count: number, each: number, first = 0.05): readonly number[] {
  return Array.from({ length: count }, (_, i) => first + each * i)
}

/**
 * Lays steps side by side along u, cut hard in light, as a film for the scanner.
 * @throws RangeError on fewer than 2 steps, a negative density, or a size that is not above 0
 */
export function stepTablet(plan: TabletPlan): Tablet {
  const { densities, stepMm, widthMm } = plan
  if (!(densities.length >= 2)) throw new RangeError(`densities must hold 2 steps or more; got ${densities.length}`)
  for (const density of densities)
    if (!(density >= 0 && density <= 8)) throw new RangeError(`density of a step must be 0 to 8; got ${density}`)
  if (!(stepMm > 0)) throw new RangeError(`stepMm must be above 0; got ${stepMm}`)
  const margin = plan.marginMm ?? 0
  const base = Math.min(plan.marginDensity ?? 0.04, ...densities)
  const deepest = Math.max(...densities)
  const net = deepest - base
  const film = checkedFilm({
    widthMm: densities.length * stepMm + 2 * margin,
    heightMm: widthMm + 2 * margin,
    baseDensity: base,
    netDensity: net,
    inkSpreadUm: 0,
    shapes: densities.map((density, i) => ({
      kind: 'rectangle' as const,
      u: margin + i * stepMm,
      v: margin,
      width: stepMm,
      height: widthMm,
      ink: net > 0 ? (density - base) / net : 0,
    })),
  })
  return {
    film,
    densities,
    centres: densities.map((_, i) => ({ u: margin + (i + 0.5) * stepMm, v: margin + widthMm / 2 })),
  }
}

/** The certificate as the shop would have it: `step,density,expanded`. */
export function certificateCsv(densities: readonly number[], expanded: number): string {
  const rows = densities.map((density, i) => `${i + 1},${density.toFixed(3)},${expanded.toFixed(3)}`)
  return `step,density,expanded\n${rows.join('\n')}\n`
}
