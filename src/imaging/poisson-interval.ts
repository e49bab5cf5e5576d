/**
 * Exact interval for the mean of a Poisson count (Garwood, Biometrika 28, 1936; from memory): half the chi-squared quantiles of 2n and 2n + 2
 * degrees of freedom, found as the means under which so few or so many have just the told chance.
 * @param found count, 0 or more
 * @param coverage of the two-sided interval, 0..1
 * @returns `low` 0 for a count of 0
 */
export function poissonInterval(found: number, coverage: number): { readonly low: number; readonly high: number } {
  if (!(Number.isInteger(found) && found >= 0))
    throw new RangeError(`found must be a whole number, 0 or more; got ${found}`)
  if (!(coverage > 0 && coverage < 1)) throw new RangeError(`coverage must be between 0 and 1; got ${coverage}`)
  const tail = (1 - coverage) / 2
  return { low: found === 0 ? 0 : meanWhere(found - 1, 1 - tail), high: meanWhere(found, tail) }
}

/** The mean under which a Poisson count is `most` or less with this chance. */
function meanWhere(most: number, chance: number): number {
  let low = 0
  let high = most + 10 + 10 * Math.sqrt(most + 10)
  // 200 halvings: far below the last digit of a double.
  for (let k = 0; k < 200; k++) {
    const middle = (low + high) / 2
    if (middle === low || middle === high) break
    if (chanceOfAtMost(most, middle) > chance) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** Sum of terms from the largest index down, each by the one before, in logarithms so that large means do not vanish. */
function chanceOfAtMost(most: number, mean: number): number {
  if (mean === 0) return 1
  let log = -mean
  for (let k = 1; k <= most; k++) log += Math.log(mean / k)
  let term = 1
  let sum = 1
  for (let k = most; k >= 1; k--) {
    term *= k / mean
    sum += term
    if (term < 1e-17 * sum) break
  }
  return Math.exp(log + Math.log(sum))
}
