/**
 * Effective degrees of freedom of a sum of variances, each with its own (Welch & Satterthwaite; JCGM 100:2008, G.4):
 * the square of the sum over the sum of variance^2 / degrees of freedom.
 * @param terms variances in one squared unit (a term that is subtracted is negative), with degrees of freedom above 0
 * @throws RangeError when the sum is not above 0
 */
export function effectiveDegrees(
  terms: readonly { readonly variance: number; readonly degreesOfFreedom: number }[],
): number {
  let sum = 0
  let spread = 0
  for (const { variance, degreesOfFreedom } of terms) {
    if (!(degreesOfFreedom > 0)) throw new RangeError(`degrees of freedom must be above 0; got ${degreesOfFreedom}`)
    sum += variance
    spread += variance ** 2 / degreesOfFreedom
  }
  if (!(sum > 0)) throw new RangeError(`the sum of the variances must be above 0; got ${sum}`)
  return sum ** 2 / spread
}
