import { Matrix, solve } from 'ml-matrix'
import { memoryPlan } from '../kernels/compiled-loops.js'
import { lightLoops } from '../kernels/light-loops.js'
import { median } from './robust.js'

/** Rows of terms that are fitted to values, for the caller to fill in; valid until the compiled loops are asked for something else. */
export interface RobustTerms {
  /** Row by row, 0 at first. */
  readonly terms: Float64Array
  readonly values: Float64Array
  /** Factor of each term, and 1 for each row that was heard in the end. */
  solved(): { readonly fitted: readonly number[]; readonly weights: Uint8Array }
}

export interface RobustOptions {
  /** After each round what lies more than four robust deviations off is not heard in the next. */
  readonly rounds: number
  /** Least robust deviation. */
  readonly noise: number
  /** Pulls factors to 0, share of the number of rows. */
  readonly ridge: number
}

/** Least squares of a sum of terms, without what lies far off. */
export function robustTerms(rows: number, width: number, { rounds, noise, ridge }: RobustOptions): RobustTerms {
  const plan = memoryPlan()
  const termsAt = plan.take(8 * rows * width)
  const valuesAt = plan.take(8 * rows)
  const offAt = plan.take(8 * rows)
  const weightsAt = plan.take(rows)
  const sumsAt = plan.take(8 * width * width)
  const rightsAt = plan.take(8 * width)
  const fittedAt = plan.take(8 * width)
  const loops = lightLoops(plan.end())
  const list = (at: number, n: number) => new Float64Array(loops.memory, at, n)
  const weights = new Uint8Array(loops.memory, weightsAt, rows).fill(1)
  const off = list(offAt, rows)
  const fitOnce = (): number[] => {
    loops.normalSums(termsAt, width, valuesAt, weightsAt, rows, sumsAt, rightsAt)
    const normal = Matrix.from1DArray(width, width, list(sumsAt, width * width))
    for (let j = 0; j < width; j++) normal.set(j, j, normal.get(j, j) + ridge * rows)
    return solve(normal, Matrix.columnVector(list(rightsAt, width)), true).to1DArray()
  }
  return {
    terms: list(termsAt, rows * width).fill(0),
    values: list(valuesAt, rows),
    solved() {
      let fitted = fitOnce()
      for (let round = 0; round < rounds; round++) {
        list(fittedAt, width).set(fitted)
        loops.departures(termsAt, width, valuesAt, fittedAt, rows, offAt)
        const most = 4 * Math.max(1.4826 * median(off), noise)
        for (let i = 0; i < rows; i++) weights[i] = off[i]! <= most ? 1 : 0
        fitted = fitOnce()
      }
      return { fitted, weights }
    },
  }
}
