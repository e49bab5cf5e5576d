import { type BlockOverview, blockOverview } from '../imaging/block-overview.js'
import { surroundLight } from '../imaging/surround-light.js'
import type { Flare } from '../model/calibration.js'
import { UM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import { BLACK_DRIFT_CODES } from './deepest-density.js'
import { type DarkView, type FlareCandidate, flareCandidates } from './flare-candidates.js'
import { UNKNOWN_FLARE } from './flare-scale.js'
import { lightTable } from './light-scale.js'
import { type FittedResponse, responseCurve, type SeenDark, type SeenOpen, type SeenStep } from './response-curve.js'

interface FlaredInput {
  readonly seen: readonly SeenStep[]
  readonly open: SeenOpen | null
  readonly dark: SeenDark | null
  readonly tablet: OpenScan
  readonly edge: OpenScan | null
  /** Whether a place of the tablet scan lies on the tablet. */
  readonly onTablet: (column: number, row: number) => boolean
  readonly umPerPixel: number
}

/** Rounds of fitting curve and flare in turn; each changes the other by its own smallness. */
const FLARE_ROUNDS = 2
/** Flare below this is nothing at any density a film has. */
const LEAST_FLARE = 2e-5
/** Black of the edge scan is that of another scan: it may have drifted, codes. */
const SAME_SCAN_ERROR = 0.3
/** How many independent places an opaque area is worth when kernels are compared: glare varies slowly, and no kernel is the true one. */
const PLACES_WORTH = 20
/** A kernel that leaves this many times the least scatter is not tried on the tablet: that takes a whole curve fit each. */
const WORTH_TRYING = 3
/** Candidates this much worse (weighted squares) are still possible. */
const POSSIBLE_WITHIN = 4
/** Side of a block of the overview for surrounding light, um. */
const BLOCK_UM = 500

/**
 * The response with flare told apart from black (measurement.md 1): flare follows the light round a place, black does not. Opaque areas give
 * the share for each possible kernel; the tablet, whose steps lie in different surroundings, says with which of them all of it is one
 * curve. With a flare the steps and the opaque area stand at their effective densities, glare included, and the curve is the sensor's own.
 */
export function flaredResponse(input: FlaredInput): { fitted: FittedResponse; flare: Flare | null; surround: number } {
  const { seen, open, umPerPixel } = input
  const um = { across: umPerPixel, along: umPerPixel }
  const plain = responseCurve(seen, open, input.dark)
  let best: { fitted: FittedResponse; flare: Flare | null } = { fitted: plain, flare: null }
  let overview = tabletOverview(plain)
  for (let round = 0; round < FLARE_ROUNDS; round++) {
    const table = lightTable(best.fitted.response)
    overview = tabletOverview(best.fitted)
    const all = flareCandidates(darkViews(input, table))
    if (all.length === 0) break
    const least = Math.min(...all.map(c => c.scatter))
    // No kernel makes a slope of it: there is no flare, and no need to fit the tablet with each.
    const sharpest = all.reduce((a, b) => (b.scatter < a.scatter ? b : a))
    if (all.every(c => !(c.share > Math.max(LEAST_FLARE, 3 * c.standard)))) {
      const none = Math.hypot(sharpest.standard, Math.max(0, sharpest.share), LEAST_FLARE / 2)
      best = {
        fitted: plain,
        flare: none <= UNKNOWN_FLARE ? { share: 0, standard: none, kernelUm: sharpest.kernelUm } : null,
      }
      break
    }
    const candidates = all.filter(c => c.scatter <= WORTH_TRYING * least)
    const tried = candidates.flatMap(candidate => {
      const made = withCandidate(candidate, table)
      if (made === null) return []
      const misfit = made.chiSquare + PLACES_WORTH * (candidate.scatter / least - 1)
      return [{ candidate, fitted: made, misfit }]
    })
    if (tried.length === 0) break
    const winner = tried.reduce((a, b) => (b.misfit < a.misfit ? b : a))
    const possible = tried.filter(t => t.misfit <= winner.misfit + POSSIBLE_WITHIN).map(t => t.candidate.share)
    const { share, kernelUm } = winner.candidate
    const standard = Math.hypot(
      winner.candidate.standard,
      (Math.max(...possible) - Math.min(...possible)) / Math.sqrt(12),
      0.01 * Math.abs(share),
    )
    // Measured as good as none: that too is known, but the curve stays the plain one.
    if (!(share > Math.max(LEAST_FLARE, 3 * standard))) {
      const none = Math.hypot(standard, Math.max(0, share))
      best = { fitted: plain, flare: none <= UNKNOWN_FLARE ? { share: 0, standard: none, kernelUm } : null }
      break
    }
    best = { fitted: winner.fitted, flare: { share, standard, kernelUm } }
  }
  const last = best.fitted.steps.findLastIndex(step => step.trusted)
  const deep = seen[Math.max(0, last)]!
  const around = surroundLight(overview, um, best.flare?.kernelUm ?? UNKNOWN_KERNEL_UM)
  return { ...best, surround: around.at(deep.column, deep.row) }

  function tabletOverview(fitted: FittedResponse): BlockOverview {
    return blockOverview(input.tablet, Math.max(1, Math.round(BLOCK_UM / umPerPixel)), lightTable(fitted.response))
  }

  function withCandidate(candidate: FlareCandidate, table: Float32Array): FittedResponse | null {
    const share = Math.max(0, candidate.share)
    const around = surroundLight(overview, um, candidate.kernelUm)
    const effective = (density: number, light: number) => -Math.log10((10 ** -density + share * light) / (1 + share))
    const place = candidate.places[0]!
    const floor: SeenDark = {
      density: effective(Number.POSITIVE_INFINITY, place.surround),
      code: codeOfLight(table, place.light),
      codeError: place.view === 0 ? SAME_SCAN_ERROR : BLACK_DRIFT_CODES,
      zeroShare: 0,
    }
    const steps = seen.map(step => ({ ...step, density: effective(step.density, around.at(step.column, step.row)) }))
    try {
      return responseCurve(steps, open, share > 0 ? floor : { ...floor, density: Number.POSITIVE_INFINITY })
    } catch (error) {
      // A kernel that makes the steps unreadable is simply not the scanner's.
      if (error instanceof ProblemError) return null
      throw error
    }
  }
}

function darkViews(input: FlaredInput, table: Float32Array): DarkView[] {
  const um = { across: input.umPerPixel, along: input.umPerPixel }
  const views: DarkView[] = [{ scan: input.tablet, transmittance: table, umPerPixel: um, excluded: input.onTablet }]
  if (input.edge !== null) {
    // The edge scan's own dpi decides its lengths; without one it is taken to be the tablet's.
    const dpi = input.edge.header.dpi
    const edgeUm = dpi === null ? um : { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
    views.push({ scan: input.edge, transmittance: table, umPerPixel: edgeUm })
  }
  return views
}

/** Kernel for the light round a place while the flare's own is not known, um. */
export const UNKNOWN_KERNEL_UM = 9500

/** Code of a light, from a rising table. */
function codeOfLight(table: Float32Array, light: number): number {
  let low = 0
  let high = table.length - 1
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (table[middle]! > light) high = middle
    else low = middle
  }
  const step = table[high]! - table[low]!
  return low + (step > 0 ? (light - table[low]!) / step : 0)
}
