/** How the range of a few normal values, sigma 1, behaves: its mean `d2` and its standard deviation `d3`. */
export interface RangeConstants {
  readonly d2: number
  readonly d3: number
}

const known = new Map<number, RangeConstants>()

/**
 * Mean and standard deviation of the range of `count` independent standard normal values, integrated numerically so
 * that no table has to be trusted: mean = integral 1 - Phi^n - (1 - Phi)^n, density of the range
 * n (n-1) integral phi(x) phi(x+r) [Phi(x+r) - Phi(x)]^(n-2) dx (Tippett, Biometrika 17, 364, 1925, from memory).
 * Error below 1e-6.
 * @param count 2 to 200
 * @throws RangeError for another count
 */
export function rangeConstants(count: number): RangeConstants {
  if (!(Number.isInteger(count) && count >= 2 && count <= 200))
    throw new RangeError(`count must be a whole number from 2 to 200; got ${count}`)
  const before = known.get(count)
  if (before !== undefined) return before
  const made = integrate(count)
  known.set(count, made)
  return made
}

/** The trapezium rule on a smooth bell is exact far beyond need at this step; beyond 7.5 sigma nothing is left. */
const STEP = 0.025
const REACH = 7.5

function integrate(count: number): RangeConstants {
  const n = Math.round((2 * REACH) / STEP) + 1
  const phi = new Float64Array(n)
  const below = new Float64Array(n)
  for (let i = 0; i < n; i++) {
    const x = -REACH + i * STEP
    phi[i] = Math.exp(-(x * x) / 2) / Math.sqrt(2 * Math.PI)
    if (i === 0) continue
    // Trapezium with its first end correction: the slope of phi is -x phi.
    const left = x - STEP
    below[i] =
      below[i - 1]! + (STEP / 2) * (phi[i - 1]! + phi[i]!) - (STEP ** 2 / 12) * (left * phi[i - 1]! - x * phi[i]!)
  }
  let mean = 0
  for (let i = 0; i < n; i++) mean += STEP * (1 - below[i]! ** count - (1 - below[i]!) ** count)
  let square = 0
  for (let gap = 1; gap < n; gap++) {
    let density = 0
    for (let i = 0; i + gap < n; i++) density += phi[i]! * phi[i + gap]! * (below[i + gap]! - below[i]!) ** (count - 2)
    square += count * (count - 1) * density * STEP ** 4 * gap ** 2
  }
  return { d2: mean, d3: Math.sqrt(square - mean ** 2) }
}
