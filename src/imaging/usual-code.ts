/** Scale of a normal distribution from the median absolute deviation: 1 / 0.6745. */
const MAD_TO_SIGMA = 1.4826

/** What most pixels of a window are. */
export interface UsualCode {
  /** Median of the codes; between two of them when their number is even. */
  readonly median: number
  /** Robust standard deviation: 1.4826 x median absolute deviation from the median. */
  readonly deviation: number
}

/**
 * Median and robust deviation of codes, exactly those of `median` and `robustDeviation`: codes are counted
 * instead of sorted, because a patch has tens of thousands of pixels and a page hundreds of patches.
 * @throws RangeError on an empty window
 */
export function usualCode(codes: Uint16Array): UsualCode {
  const n = codes.length
  if (!(n > 0)) throw new RangeError('usualCode needs at least one code')
  let least = 65535
  let greatest = 0
  for (let i = 0; i < n; i++) {
    const code = codes[i]!
    if (code < least) least = code
    if (code > greatest) greatest = code
  }
  // Counted from the least code: most windows hold a small part of the scale.
  const counts = new Uint32Array(greatest - least + 1)
  for (let i = 0; i < n; i++) counts[codes[i]! - least]!++
  // Ranks of the two middle values, counted from 0; the same one when n is odd.
  const first = (n - 1) >> 1
  const second = n >> 1

  let code = 0
  let below = counts[0]!
  while (below <= first) below += counts[++code]!
  const lower = code
  while (below <= second) below += counts[++code]!
  const twice = lower + code

  // Distances from the median, doubled so that they are whole, in rising order from both sides at once.
  let down = lower
  let up = lower + 1
  let seen = 0
  let distance = 0
  const next = (): void => {
    const under = down >= 0 ? Math.abs(twice - 2 * down) : Number.POSITIVE_INFINITY
    const over = up < counts.length ? Math.abs(2 * up - twice) : Number.POSITIVE_INFINITY
    if (under <= over) {
      distance = under
      seen += counts[down--]!
    } else {
      distance = over
      seen += counts[up++]!
    }
  }
  while (seen <= first) next()
  const nearer = distance
  while (seen <= second) next()
  return { median: least + twice / 2, deviation: (MAD_TO_SIGMA * (nearer + distance)) / 4 }
}
