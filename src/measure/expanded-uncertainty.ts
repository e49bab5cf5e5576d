import { studentT95 } from '../imaging/student-t.js'
import type { Component } from '../model/reading.js'

/** What a budget comes to. */
export interface ExpandedUncertainty {
  /** Combined standard uncertainty, unit of the reading. */
  readonly standard: number
  /** Effective degrees of freedom; null: infinite. */
  readonly degreesOfFreedom: number | null
  readonly coverageFactor: number
  /** U. */
  readonly expanded: number
}

/** The contract's factor; exact for 95.45 %. */
const USUAL_FACTOR = 2

/**
 * Combined standard uncertainty of independent components, root of the sum of squares (JCGM 100:2008, 5.1.2), with the effective
 * degrees of freedom of Welch and Satterthwaite, `u^4 / sum(u_i^4 / nu_i)` (JCGM 100:2008, G.4.1), not cut to whole numbers. The
 * coverage factor is `max(2, t95(nu))`: 2 as the contract has it, and never less than what so few degrees of freedom need.
 * A component without told degrees of freedom counts as infinite.
 */
export function expandedUncertainty(budget: readonly Component[]): ExpandedUncertainty {
  const standard = Math.hypot(...budget.map(c => c.standard))
  let sum = 0
  for (const { standard: own, degreesOfFreedom } of budget) {
    if (degreesOfFreedom === undefined || degreesOfFreedom === null) continue
    if (!(degreesOfFreedom >= 1)) throw new RangeError(`degrees of freedom must be 1 or more; got ${degreesOfFreedom}`)
    sum += own ** 4 / degreesOfFreedom
  }
  const freedom = standard ** 4 / sum
  const degreesOfFreedom = freedom < MOST_FREEDOM ? Math.max(1, freedom) : null
  const few = degreesOfFreedom !== null && degreesOfFreedom < ENOUGH_FREEDOM
  const coverageFactor = few ? Math.max(USUAL_FACTOR, studentT95(degreesOfFreedom)) : USUAL_FACTOR
  return { standard, degreesOfFreedom, coverageFactor, expanded: coverageFactor * standard }
}

/** From here on Student's t is below 2: t95(61) = 1.9996. */
const ENOUGH_FREEDOM = 61

/** Beyond this nobody can tell them from infinite. */
const MOST_FREEDOM = 1e5
