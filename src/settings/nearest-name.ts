/**
 * The known name nearest to a misspelt one, or null when none is near enough to be meant.
 * Optimal string alignment distance (Damerau 1964, from memory) without regard to case, so that a swapped pair of
 * letters counts once. Near enough: at most a third of the longer word's letters, common practice, no source.
 * @param wrong what was written
 * @param known the right names; the first of equally near ones wins
 */
export function nearestName(wrong: string, known: readonly string[]): string | null {
  let best: string | null = null
  let bestDistance = Number.POSITIVE_INFINITY
  for (const name of known) {
    if (Math.abs(name.length - wrong.length) >= bestDistance) continue
    const distance = editDistance(wrong.toLowerCase(), name.toLowerCase())
    const allowed = Math.max(1, Math.floor(Math.max(wrong.length, name.length) / 3))
    if (distance < bestDistance && distance <= allowed) {
      best = name
      bestDistance = distance
    }
  }
  return best
}

function editDistance(a: string, b: string): number {
  let before: number[] = []
  let last = Array.from({ length: b.length + 1 }, (_, j) => j)
  for (let i = 1; i <= a.length; i++) {
    const row = [i]
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1
      let least = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + same)
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) least = Math.min(least, before[j - 2]! + 1)
      row.push(least)
    }
    before = last
    last = row
  }
  return last[b.length]!
}
