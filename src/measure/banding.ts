import { FEWEST_PITCHES } from '../imaging/ripple-spectrum.js'
import type { SolidArea } from '../model/located.js'
import type { RippleProfile } from '../model/measured.js'
import type { Component, Part } from '../model/reading.js'
import { type ExpandedUncertainty, expandedUncertainty } from './expanded-uncertainty.js'
import type { FilmEvidence } from './film-evidence.js'
import type { AxisRipple, FilmRipple, SolidRipple } from './solid-ripple.js'

/** The ripple of all large solids in one of the film's two directions. */
export interface Banding {
  /** The first or the second axis of the solids. */
  readonly axis: 'first' | 'second'
  /** rms, share of the ink. */
  readonly rms: number
  readonly budget: readonly Component[]
  readonly uncertainty: ExpandedUncertainty
  /** The solid whose wave tells its pitch best; null when a wave stands out in none. */
  readonly clearest: Side | null
  readonly longest: Side
  readonly parts: readonly Part[]
}

/** Where no wave stands out, bands of this pitch are thought of, mm. */
const UNTOLD_PITCH_MM = 1

/** The curve from light to ink over a ripple as large as those of banding: third-order terms (from the truth tests), share of the ripple. */
const CURVE = 0.01

/** A solid in one of the film's directions. */
interface Side extends AxisRipple {
  readonly solid: SolidRipple
}

/**
 * Banding in the directions of the film that some solid is long enough for, the stronger first: which of them is the feed most films do not say. The
 * variance of each direction is the mean over the large solids by area.
 * @returns at least one, as long as there is a solid
 */
export function bandingOf({ scan, ripple }: Required<Pick<FilmEvidence, 'scan' | 'ripple'>>): [Banding, ...Banding[]] {
  const found = (['first', 'second'] as const).flatMap((axis): Banding[] => {
    const all = ripple.solids.flatMap((solid): Side[] => (solid[axis] === null ? [] : [{ solid, ...solid[axis] }]))
    if (all.length === 0) return []
    const best = clearest(all)
    // A solid too small for the wave says nothing of it; the one it was found on is long enough, but for what the fit moved the pitch by.
    const least = FEWEST_PITCHES / (best?.spectrum.line?.frequency ?? Number.POSITIVE_INFINITY)
    const sides = all.filter(side => side === best || side.lengthMm >= least)
    const weights = sides.map(({ solid: { field } }) => field.area.first * field.area.second)
    const total = weights.reduce((sum, w) => sum + w, 0)
    const mean = (value: (side: Side) => number) =>
      sides.reduce((sum, side, i) => sum + weights[i]! * value(side), 0) / total
    const variance = mean(side => side.spectrum.variance)
    const error = Math.sqrt(
      sides.reduce((sum, side, i) => sum + ((weights[i]! / total) * side.spectrum.varianceError) ** 2, 0),
    )
    const rms = Math.sqrt(Math.max(0, variance))
    const scale = Math.max(...sides.map(({ solid }) => solid.scale))
    const base = Math.max(...sides.map(({ solid }) => solid.base))
    const blur = Math.max(...sides.map(side => side.blur))
    const budget: Component[] = [
      { name: 'noise', standard: 100 * rmsError(variance, error), type: 'A', degreesOfFreedom: null },
      share('light scale', rms, scale),
      share('base', rms, base),
      share('scanner', rms, blur),
      share('curve of ink', rms, CURVE),
      ...scannerShare(ripple, sides),
    ]
    return [
      {
        axis,
        rms,
        budget,
        uncertainty: expandedUncertainty(budget),
        clearest: best,
        longest: sides.reduce((a, b) => (b.lengthMm > a.lengthMm ? b : a)),
        parts: sides.map(side => part(scan, side, axis)),
      },
    ]
  })
  return found.sort((a, b) => b.rms - a.rms) as [Banding, ...Banding[]]
}

/** Standard uncertainty of the root of a variance that may be no more than its own error: half of the wider side of its interval. */
export function rmsError(variance: number, error: number): number {
  const rms = Math.sqrt(Math.max(0, variance))
  const high = Math.sqrt(rms * rms + 2 * error) - rms
  const low = rms - Math.sqrt(Math.max(0, rms * rms - 2 * error))
  return Math.max(high, low) / 2
}

/** What the scanner's own ripple may be of a direction that lies along the scanner's: it is averaged out where bands slant over it by two pitches. */
function scannerShare({ scanner }: FilmRipple, sides: readonly Side[]): Component[] {
  let most = 0
  for (const side of sides) {
    const way = alongScanner(side)
    if (way !== null && scanner !== null) most = Math.max(most, scanner[way] / Math.LN10 / side.solid.net)
  }
  return most > 0 ? [{ name: 'scanner’s own ripple', standard: 100 * most, type: 'B', degreesOfFreedom: null }] : []
}

/** Bands as long as this would not slant over two pitches of theirs: they cannot be told from the scanner's own ripple in that direction. Null when they can. */
export function alongScanner(side: AxisRipple): 'across' | 'along' | null {
  const { direction } = side
  const off = direction - 90 * Math.round(direction / 90)
  const enough = slantEnough(side)
  if (enough !== null && Math.abs(off) >= enough) return null
  return Math.round(direction / 90) % 2 === 0 ? 'across' : 'along'
}

/** Turn off the scanner's axes from which a direction's bands slant over two pitches of theirs, degrees; null when the solid is too narrow for that at any. */
export function slantEnough({ widthMm, spectrum: { line } }: AxisRipple): number | null {
  const share = (2 * (line === null ? UNTOLD_PITCH_MM : 1 / line.frequency)) / widthMm
  return share < Math.SQRT1_2 ? (Math.asin(share) * 180) / Math.PI : null
}

function share(name: string, rms: number, relative: number): Component {
  return {
    name,
    standard: 100 * rms * relative,
    type: 'B',
    input: { standard: relative, unit: '1' },
    sensitivity: 100 * rms,
    degreesOfFreedom: null,
  }
}

function clearest(sides: readonly Side[]): Side | null {
  let best: Side | null = null
  let least = Number.POSITIVE_INFINITY
  for (const side of sides) {
    const { spectrum, lengthMm } = side
    if (spectrum.line === null) continue
    const { frequency, frequencyError } = spectrum.line
    const off = Math.hypot(frequencyError / frequency, trendShare(frequency, lengthMm))
    if (!(off < least)) continue
    least = off
    best = side
  }
  return best
}

/** The trend fitted beside a wave is no parabola quite: share of the pitch for a wave of which three lie in view (from the truth tests), falling with their square. */
const TREND_SHARE = 0.01

/** What slow trend may pull a wave's pitch by, share. */
export function trendShare(frequency: number, lengthMm: number): number {
  return TREND_SHARE * (FEWEST_PITCHES / frequency / lengthMm) ** 2
}

function part({ umPerPixel }: FilmEvidence['scan'], side: Side, axis: 'first' | 'second'): Part {
  const { variance, varianceError, line } = side.spectrum
  const { area } = side.solid.field
  const wave = line === null ? 'no wave stands out' : `a wave every ${(1 / line.frequency).toFixed(2)} mm`
  return {
    id: area.id,
    place: { column: (1000 * area.x) / umPerPixel.across, row: (1000 * area.y) / umPerPixel.along },
    value: 100 * Math.sqrt(Math.max(0, variance)),
    expanded: 200 * rmsError(variance, varianceError),
    bound: null,
    note: `${directionWords(side.direction, area, axis)}: ${wave}, ${side.lengthMm.toFixed(0)} mm of it read`,
  }
}

/** How a direction lies on the film, where that says how it was fed; else on the scan. */
export function directionWords(
  degrees: number,
  { feed }: Pick<SolidArea, 'feed'>,
  axis: 'first' | 'second',
): RippleProfile['direction'] {
  if (feed !== undefined) return feed === axis ? 'along the feed' : 'across the head'
  const turn = degrees - 180 * Math.round(degrees / 180)
  return Math.abs(turn) < 45 ? 'across the page' : 'down the page'
}
