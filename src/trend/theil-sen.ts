/** A straight line through points, told by the middle one of all slopes. */
export interface TheilSen {
  readonly slope: number
  /** Median of what is left of y. */
  readonly intercept: number
  /** Of the slope, at the confidence asked for or the next higher one that so few points allow; null: they allow none. */
  readonly interval: { readonly lower: number; readonly upper: number } | null
}

/** Pairs beyond which nobody needs this estimator. */
const MOST_POINTS = 500

/**
 * Robust line: slope is the median of the slopes between all pairs of points with different x, the interval from the distribution of
 * Kendall's S (Sen, J. Am. Stat. Assoc. 63, 1379, 1968), exact for points without ties.
 * @param points (x, y), 2 to 500, finite, with at least two different x
 * @param confidence above 0, below 1
 * @throws RangeError for points or a confidence outside these
 */
export function theilSen(points: readonly (readonly [number, number])[], confidence = 0.95): TheilSen {
  const n = points.length
  if (!(n >= 2 && n <= MOST_POINTS)) throw new RangeError(`points must be 2 to ${MOST_POINTS}; got ${n}`)
  if (!(confidence > 0 && confidence < 1)) throw new RangeError(`confidence must be between 0 and 1; got ${confidence}`)
  for (const [x, y] of points)
    if (!(Number.isFinite(x) && Number.isFinite(y))) throw new RangeError(`points must be finite; got (${x}, ${y})`)
  const slopes: number[] = []
  for (let i = 0; i < n; i++)
    for (let j = i + 1; j < n; j++) {
      const run = points[j]![0] - points[i]![0]
      if (run !== 0) slopes.push((points[j]![1] - points[i]![1]) / run)
    }
  if (slopes.length === 0) throw new RangeError(`points must have two different x; got ${points[0]![0]} only`)
  slopes.sort((a, b) => a - b)
  const slope = medianOf(slopes)
  const intercept = medianOf(points.map(([x, y]) => y - slope * x).sort((a, b) => a - b))
  const reach = kendallReach(n, confidence)
  if (reach === null) return { slope, intercept, interval: null }
  const lower = slopes[Math.max(0, Math.floor((slopes.length - reach) / 2))]
  const upper = slopes[Math.min(slopes.length, Math.ceil((slopes.length + reach) / 2)) - 1]
  return { slope, intercept, interval: lower === undefined || upper === undefined ? null : { lower, upper } }
}

const reaches = new Map<string, number | null>()

/** Smallest C with P(-C < S < C) of at least the confidence, S being Kendall's for n points; null when even all of them do not reach it. */
function kendallReach(n: number, confidence: number): number | null {
  const key = `${n} ${confidence}`
  let reach = reaches.get(key)
  if (reach === undefined) {
    reach = findReach(n, confidence)
    reaches.set(key, reach)
  }
  return reach
}

function findReach(n: number, confidence: number): number | null {
  // Chances of k inversions in a shuffled row of n, one place at a time.
  let chances = [1]
  for (let m = 2; m <= n; m++) {
    const next = new Array<number>(chances.length + m - 1).fill(0)
    let sum = 0
    for (let k = 0; k < next.length; k++) {
      sum += chances[k] ?? 0
      if (k >= m) sum -= chances[k - m] ?? 0
      next[k] = sum / m
    }
    chances = next
  }
  const pairs = chances.length - 1
  for (let c = pairs % 2; c <= pairs; c += 2) {
    let inside = 0
    for (let k = 0; k <= pairs; k++) if (Math.abs(pairs - 2 * k) < c) inside += chances[k]!
    if (inside >= confidence - 1e-9) return c
  }
  return null
}

function medianOf(sorted: readonly number[]): number {
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
