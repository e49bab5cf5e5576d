import { fTail } from './f-distribution.js'

const known = new Map<string, number>()
/** Answers kept: charts ask for the same few again and again. */
const MOST_KNOWN = 1000

/**
 * Student's t that chance passes, either way, with probability `p`: its square is F with 1 degree of freedom above the line. By bisection,
 * within 1e-9.
 * @param p above 0, below 1; from 0.001 on for 1 degree of freedom and more
 * @param freedom degrees of freedom, 1 or more; need not be whole; beyond 10 000 they count as 10 000
 * @throws RangeError for numbers outside these
 */
export function studentT(p: number, freedom: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`probability must be above 0 and below 1; got ${p}`)
  if (!(freedom >= 1)) throw new RangeError(`degrees of freedom must be 1 or more; got ${freedom}`)
  const degrees = Math.min(freedom, 1e4)
  const key = `${p} ${degrees}`
  const before = known.get(key)
  if (before !== undefined) return before
  let low = 0
  let high = 1000
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2
    if (fTail(middle ** 2, 1, degrees) > p) low = middle
    else high = middle
  }
  const t = (low + high) / 2
  if (known.size < MOST_KNOWN) known.set(key, t)
  return t
}
