import { studentT95 } from './student-t.js'

/** A straight line y = intercept + slope * x with what is known of it. */
export interface FittedLine {
  readonly slope: number
  readonly intercept: number
  /** Standard errors; of the intercept 0 when the line was held at the origin. */
  readonly slopeError: number
  readonly interceptError: number
  /** Residual standard deviation, unit of y. */
  readonly residualDeviation: number
  /** Share of the variation of y explained, 0..1; about 0 and not about the mean for a line held at the origin. */
  readonly r2: number
  readonly freedom: number
  readonly n: number
  /** Middle of x and sum of squares about it (0 and about 0 for a line held at the origin). */
  readonly centre: number
  readonly spread: number
}

/**
 * Ordinary least squares of y on x, sums taken about the means.
 * @param throughOrigin hold the intercept at 0
 * @throws RangeError when x and y differ in length, a number is not finite, the points leave no degree of freedom, or all x are the same
 */
export function fitLine(x: ArrayLike<number>, y: ArrayLike<number>, throughOrigin = false): FittedLine {
  const n = x.length
  if (y.length !== n) throw new RangeError(`x and y must be of one length; got ${n} and ${y.length}`)
  const freedom = n - (throughOrigin ? 1 : 2)
  if (!(freedom >= 1)) throw new RangeError(`a line needs ${throughOrigin ? 2 : 3} points; got ${n}`)
  const centre = throughOrigin ? 0 : mean(x)
  const middle = throughOrigin ? 0 : mean(y)
  let spread = 0
  let cross = 0
  let total = 0
  for (let i = 0; i < n; i++) {
    if (!(Number.isFinite(x[i]!) && Number.isFinite(y[i]!)))
      throw new RangeError(`points must be finite; got (${x[i]}, ${y[i]})`)
    const u = x[i]! - centre
    const v = y[i]! - middle
    spread += u * u
    cross += u * v
    total += v * v
  }
  if (!(spread > 0)) throw new RangeError(`the x of a line must differ; all are ${x[0]}`)
  const slope = cross / spread
  let left = 0
  for (let i = 0; i < n; i++) left += (y[i]! - middle - slope * (x[i]! - centre)) ** 2
  const residualDeviation = Math.sqrt(left / freedom)
  return {
    slope,
    intercept: middle - slope * centre,
    slopeError: residualDeviation / Math.sqrt(spread),
    interceptError: throughOrigin ? 0 : residualDeviation * Math.sqrt(1 / n + (centre * centre) / spread),
    residualDeviation,
    r2: total > 0 ? 1 - left / total : 1,
    freedom,
    n,
    centre,
    spread,
  }
}

/** Value of the line at x, and half of the interval in which one more y falls 95 times in 100 (Draper & Smith, Applied Regression Analysis; from memory). */
export function predict(line: FittedLine, x: number): { readonly value: number; readonly half: number } {
  const own = line.freedom === line.n - 1 ? 0 : 1 / line.n
  const variance = line.residualDeviation ** 2 * (1 + own + (x - line.centre) ** 2 / line.spread)
  return { value: line.intercept + line.slope * x, half: studentT95(line.freedom) * Math.sqrt(variance) }
}

function mean(values: ArrayLike<number>): number {
  let sum = 0
  for (let i = 0; i < values.length; i++) sum += values[i]!
  return sum / values.length
}
