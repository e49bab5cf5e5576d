import { Matrix, solve } from 'ml-matrix'
import { median } from './robust.js'

/** One term of a smooth surface over a window: `value * u^across * v^along`, u and v from -1 to 1. */
export interface SurfaceTerm {
  readonly across: number
  readonly along: number
  readonly value: number
}

/** Values on a grid of cells, row by row; a cell of weight 0 has none. */
export interface Grid {
  readonly columns: number
  readonly rows: number
  readonly values: ArrayLike<number>
  /** Centres of columns and rows, -1 to 1. */
  readonly u: ArrayLike<number>
  readonly v: ArrayLike<number>
}

/** Value of a surface at a place. */
export function surfaceAt(terms: readonly SurfaceTerm[], u: number, v: number): number {
  let sum = 0
  for (const { across, along, value } of terms) sum += value * u ** across * v ** along
  return sum
}

/**
 * Polynomial surface of total order `order` by weighted least squares.
 * @param weights one a cell, 0 leaves it out
 * @throws RangeError when fewer cells count than the surface has terms
 */
export function fitSurface(grid: Grid, weights: ArrayLike<number>, order: number): SurfaceTerm[] {
  const exponents: { across: number; along: number }[] = []
  for (let along = 0; along <= order; along++)
    for (let across = 0; across + along <= order; across++) exponents.push({ across, along })
  const n = exponents.length
  const normal = Matrix.zeros(n, n)
  const right = Matrix.zeros(n, 1)
  const basis = new Float64Array(n)
  // Sums in flat arrays: the matrix class is slow in a loop over every cell of a glass.
  const sums = new Float64Array(n * n)
  const targets = new Float64Array(n)
  const most = order + 1
  const uPowers = powers(grid.u, order)
  const vPowers = powers(grid.v, order)
  let used = 0
  for (let r = 0; r < grid.rows; r++)
    for (let c = 0; c < grid.columns; c++) {
      const at = r * grid.columns + c
      const w = weights[at]!
      if (!(w > 0)) continue
      used++
      for (let k = 0; k < n; k++)
        basis[k] = uPowers[c * most + exponents[k]!.across]! * vPowers[r * most + exponents[k]!.along]!
      for (let j = 0; j < n; j++) {
        const wj = w * basis[j]!
        targets[j]! += wj * grid.values[at]!
        for (let k = 0; k <= j; k++) sums[j * n + k]! += wj * basis[k]!
      }
    }
  if (!(used >= n)) throw new RangeError(`a surface of order ${order} needs ${n} cells; got ${used}`)
  for (let j = 0; j < n; j++) {
    right.set(j, 0, targets[j]!)
    for (let k = 0; k <= j; k++) {
      normal.set(j, k, sums[j * n + k]!)
      normal.set(k, j, sums[j * n + k]!)
    }
  }
  const solved = solve(normal, right, true)
  return exponents.map((exponent, k) => ({ ...exponent, value: solved.get(k, 0) }))
}

/** Powers 0 to `order` of each value, one after another. */
function powers(values: ArrayLike<number>, order: number): Float64Array {
  const table = new Float64Array(values.length * (order + 1))
  for (let i = 0; i < values.length; i++) {
    let power = 1
    for (let k = 0; k <= order; k++) {
      table[i * (order + 1) + k] = power
      power *= values[i]!
    }
  }
  return table
}

/** The surface in every cell. */
function surfaceOn(grid: Grid, terms: readonly SurfaceTerm[]): Float64Array {
  const order = Math.max(...terms.map(term => Math.max(term.across, term.along)))
  const uPowers = powers(grid.u, order)
  const vPowers = powers(grid.v, order)
  const out = new Float64Array(grid.columns * grid.rows)
  for (let r = 0; r < grid.rows; r++)
    for (let c = 0; c < grid.columns; c++) {
      let sum = 0
      for (let k = 0; k < terms.length; k++) {
        const term = terms[k]!
        sum += term.value * uPowers[c * (order + 1) + term.across]! * vPowers[r * (order + 1) + term.along]!
      }
      out[r * grid.columns + c] = sum
    }
  return out
}

/** A surface that outliers do not bend. */
export interface RobustSurface {
  readonly terms: readonly SurfaceTerm[]
  /** Value less surface, 0 in cells without one. */
  readonly residuals: Float64Array
  /** Robust standard deviation of the residuals. */
  readonly deviation: number
}

const ABSOLUTE_ROUNDS = 10
const BIWEIGHT_ROUNDS = 8
/** Tuning constant of the biweight for 95 % efficiency (Beaton & Tukey, Technometrics 16, 147, 1974; from memory). */
const BIWEIGHT = 4.685

/**
 * The smooth surface most cells lie on: first least absolute values with a surface of order 2, then Tukey's biweight.
 * @param valid 1 where a cell has a value
 * @param least residuals below this are noise, whatever their own spread
 * @throws RangeError when too few cells are valid
 */
export function fitRobustSurface(grid: Grid, valid: ArrayLike<number>, order: number, least: number): RobustSurface {
  const weights = Float64Array.from(valid)
  const residuals = new Float64Array(weights.length)
  const look = (terms: readonly SurfaceTerm[]): number => {
    const sizes: number[] = []
    const surface = surfaceOn(grid, terms)
    for (let at = 0; at < surface.length; at++) {
      if (valid[at] !== 1) continue
      residuals[at] = grid.values[at]! - surface[at]!
      sizes.push(Math.abs(residuals[at]!))
    }
    return Math.max(1.4826 * median(sizes), least)
  }
  let terms = fitSurface(grid, weights, Math.min(2, order))
  let deviation = look(terms)
  for (let round = 0; round < ABSOLUTE_ROUNDS; round++) {
    for (let i = 0; i < weights.length; i++)
      weights[i] = valid[i] === 1 ? 1 / Math.max(Math.abs(residuals[i]!), least) : 0
    terms = fitSurface(grid, weights, Math.min(2, order))
    deviation = look(terms)
  }
  for (let round = 0; round < BIWEIGHT_ROUNDS; round++) {
    for (let i = 0; i < weights.length; i++) {
      const off = residuals[i]! / (BIWEIGHT * deviation)
      weights[i] = valid[i] === 1 && Math.abs(off) < 1 ? (1 - off * off) ** 2 : 0
    }
    terms = fitSurface(grid, weights, order)
    deviation = look(terms)
  }
  return { terms, residuals, deviation }
}
