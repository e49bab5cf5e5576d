import type { LadderReadings } from '../model/ladder.js'
import type { NotMeasured, Reading } from '../model/reading.js'
import { edgeShift } from './edge-shift.js'

const EDGE_METHOD = 'edgeGrowth@spread-1'
const FRINGE_METHOD = 'fringeGrowth@width-1'
const LOSS_METHOD = 'densityLoss@patch-1'
/** Ink thinner than this has no half-light contour outside its edge to speak of (`edge-shift.ts`), D above base. */
const LEAST_NET = 1

/** What changed on one print between two readings of it; what could not be told, and why. */
export interface GrownReadings {
  readonly readings: LadderReadings
  readonly notMeasured: readonly NotMeasured[]
}

/**
 * Growth of a print told from two readings of it, where it was not laid on its own earlier scan: edge growth from the ink's spread and
 * density on both (the 50 % contour of a Gaussian edge, `edge-shift.ts`), fringe growth and lost density as differences. Taken as if nothing
 * were common to both readings, so U is rather too large where one calibration served both.
 */
export function grownReadings(before: LadderReadings, after: LadderReadings): GrownReadings {
  const found = [edgeGrowth(before, after), fringeGrowth(before, after), densityLoss(before, after)]
  return {
    readings: Object.fromEntries(found.flatMap(one => ('reading' in one ? [] : [[one.name, one.value]]))),
    notMeasured: found.flatMap(one => ('reading' in one ? [one] : [])),
  }
}

type Grown = { readonly name: string; readonly value: Reading } | NotMeasured

function edgeGrowth(before: LadderReadings, after: LadderReadings): Grown {
  const sides = [before, after].map(({ inkSpread, solidDensity, baseDensity }) =>
    inkSpread === undefined || inkSpread.bound !== null || solidDensity === undefined
      ? null
      : { spread: inkSpread, net: solidDensity.value - (baseDensity?.value ?? 0) },
  )
  const [was, is] = sides
  if (was == null || is == null || !(was.net > LEAST_NET && is.net > LEAST_NET))
    return {
      reading: 'edgeGrowth',
      because: 'the ink spread of one of the two readings is not known',
      next: 'read both with a calibration that has an edge scan (`burngate calibrate --edge`)',
    }
  // One shift for both: what the solid lost is told by itself, and is not to look like an edge that moved.
  const shift = (edgeShift(was.net) + edgeShift(is.net)) / 2
  const standard = shift * Math.hypot(standardOf(was.spread), standardOf(is.spread))
  return {
    name: 'edgeGrowth',
    value: difference(is.spread, shift * (is.spread.value - was.spread.value), standard, EDGE_METHOD),
  }
}

function fringeGrowth({ fringeWidth: was }: LadderReadings, { fringeWidth: is }: LadderReadings): Grown {
  if (was === undefined || is === undefined || was.bound !== null || is.bound !== null)
    return {
      reading: 'fringeGrowth',
      because: 'the fringe width of one of the two readings is not known',
      next: 'read both with a calibration that has an edge scan (`burngate calibrate --edge`)',
    }
  const standard = Math.hypot(standardOf(was), standardOf(is))
  return { name: 'fringeGrowth', value: difference(is, is.value - was.value, standard, FRINGE_METHOD) }
}

function densityLoss({ solidDensity: was }: LadderReadings, { solidDensity: is }: LadderReadings): Grown {
  if (was === undefined || is === undefined || was.bound !== null)
    return {
      reading: 'densityLoss',
      because: 'the density of one of the two readings is not known, or only a bound',
      next: 'scan both with a bracket, or with a scanner that sees deeper',
    }
  const standard = Math.hypot(standardOf(was), standardOf(is))
  const value = difference(is, was.value - is.value, standard, LOSS_METHOD)
  // Now as dense as that at least, it has lost as much as that at most.
  return { name: 'densityLoss', value: is.bound === null ? value : { ...value, bound: 'atMost' } }
}

function difference(of: Reading, value: number, standard: number, method: string): Reading {
  return {
    value,
    unit: of.unit,
    expanded: 2 * standard,
    standard,
    degreesOfFreedom: null,
    coverageFactor: 2,
    bound: null,
    n: of.n,
    parts: [],
    budget: [],
    method,
  }
}

function standardOf({ standard, expanded }: Reading): number {
  return standard ?? expanded / 2
}
