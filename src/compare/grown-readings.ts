import type { LadderReadings } from '../model/ladder.js'
import type { NotMeasured, Reading } from '../model/reading.js'
import { edgeShift } from './edge-shift.js'

const EDGE_METHOD = 'edgeGrowth@spread-2'
const FRINGE_METHOD = 'fringeGrowth@width-1'
const LOSS_METHOD = 'densityLoss@patch-1'
/** No ink of films is blacker, D above base: what a bound may stand for. */
const BLACKEST_NET = 4.5
/** Ink thinner than this has no half-light contour outside its edge to speak of (`edge-shift.ts`), D above base. */
const LEAST_NET = 1

/** Half the step of a difference quotient, D. */
const DENSITY_STEP = 0.01

/** What changed on one print between two readings of it; what could not be told, and why. */
export interface GrownReadings {
  readonly readings: LadderReadings
  readonly notMeasured: readonly NotMeasured[]
}

/**
 * Growth of a print told from two readings of it, where it was not laid on its own earlier scan: edge growth from where the contour of half light
 * of a Gaussian edge (`edge-shift.ts`) lies by the ink's spread and density of each, fringe growth and lost density as differences. Taken as if
 * nothing were common to both readings, so U is rather too large where one calibration served both.
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
  const [was, is] = [before, after].map(edgeOf)
  if (was == null || is == null)
    return {
      reading: 'edgeGrowth',
      because: 'the ink spread of one of the two readings is not known',
      next: 'read both with a calibration that has an edge scan (`burngate calibrate --edge`)',
    }
  // Blacker than the scanner tells, at one time or both: nobody knows by how much, so both count as equally black, and U holds what that may be wrong by.
  const bounded = was.blackest !== null || is.blackest !== null
  const [low, high] = [Math.min(was.shift, is.shift), Math.max(was.blackest ?? was.shift, is.blackest ?? is.shift)]
  const common = (low + high) / 2
  const crept = is.spread.value - was.spread.value
  const value = bounded ? common * crept : is.shift * is.spread.value - was.shift * was.spread.value
  const shiftOf = (edge: Edge) => (bounded ? common : edge.shift)
  const standard = Math.hypot(
    shiftOf(was) * standardOf(was.spread),
    shiftOf(is) * standardOf(is.spread),
    ...(bounded
      ? [(crept * (high - low)) / Math.sqrt(12)]
      : [was, is].map(edge => edge.spread.value * edge.perDensity * edge.netStandard)),
  )
  return { name: 'edgeGrowth', value: difference(is.spread, value, standard, EDGE_METHOD) }
}

/** An edge as one reading has it. */
interface Edge {
  readonly spread: Reading
  /** How far the contour of half light lies outside, in sigmas of the spread, and its change by D of the solid. */
  readonly shift: number
  readonly perDensity: number
  readonly netStandard: number
  /** The same of the blackest ink there is where density is a bound; else null. */
  readonly blackest: number | null
}

function edgeOf({ inkSpread: spread, solidDensity: solid, baseDensity: base }: LadderReadings): Edge | null {
  if (spread === undefined || spread.bound !== null || solid === undefined || solid.bound === 'atMost') return null
  const net = solid.value - (base?.value ?? 0)
  if (!(net > LEAST_NET)) return null
  return {
    spread,
    shift: edgeShift(net),
    perDensity: (edgeShift(net + DENSITY_STEP) - edgeShift(net - DENSITY_STEP)) / (2 * DENSITY_STEP),
    netStandard: standardOf(solid),
    blackest: solid.bound === null ? null : edgeShift(Math.max(net, BLACKEST_NET)),
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
