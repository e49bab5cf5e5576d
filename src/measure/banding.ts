import { FEWEST_PITCHES } from '../imaging/ripple-spectrum.js'
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
  readonly clearest: SolidRipple | null
  readonly parts: readonly Part[]
}

/** Where no wave stands out, bands of this pitch are thought of, mm. */
const UNTOLD_PITCH_MM = 1

/** The curve from light to ink over a ripple as large as those of banding: third-order terms (from the truth tests), share of the ripple. */
const CURVE = 0.01

/**
 * Banding in both directions of the film, the stronger first: which of them is the feed no film says by itself. The variance of
 * each direction is the mean over the large solids by area.
 */
export function bandingOf({ scan, ripple }: Required<Pick<FilmEvidence, 'scan' | 'ripple'>>): [Banding, Banding] {
  const both = (['first', 'second'] as const).map((axis): Banding => {
    const best = clearest(ripple.solids, axis)
    // A solid too small for the wave says nothing of it.
    const least = FEWEST_PITCHES / (best?.[axis].spectrum.line?.frequency ?? Number.POSITIVE_INFINITY)
    const solids = ripple.solids.filter(solid => solid[axis].lengthMm >= least)
    const weights = solids.map(({ field }) => field.area.first * field.area.second)
    const total = weights.reduce((sum, w) => sum + w, 0)
    const mean = (value: (solid: SolidRipple) => number) =>
      solids.reduce((sum, solid, i) => sum + weights[i]! * value(solid), 0) / total
    const variance = mean(solid => solid[axis].spectrum.variance)
    const error = Math.sqrt(
      solids.reduce((sum, solid, i) => sum + ((weights[i]! / total) * solid[axis].spectrum.varianceError) ** 2, 0),
    )
    const rms = Math.sqrt(Math.max(0, variance))
    const scale = Math.max(...solids.map(solid => solid.scale))
    const base = Math.max(...solids.map(solid => solid.base))
    const blur = Math.max(...solids.map(solid => solid[axis].blur))
    const budget: Component[] = [
      { name: 'noise', standard: 100 * rmsError(variance, error), type: 'A', degreesOfFreedom: null },
      share('light scale', rms, scale),
      share('base', rms, base),
      share('scanner', rms, blur),
      share('curve of ink', rms, CURVE),
      ...scannerShare(ripple, solids, axis),
    ]
    return {
      axis,
      rms,
      budget,
      uncertainty: expandedUncertainty(budget),
      clearest: best,
      parts: solids.map(solid => part(scan, solid, solid[axis], `${solid.field.area.id}`)),
    }
  })
  const [a, b] = both as [Banding, Banding]
  return a.rms >= b.rms ? [a, b] : [b, a]
}

/** Standard uncertainty of the root of a variance that may be no more than its own error: half of the wider side of its interval. */
export function rmsError(variance: number, error: number): number {
  const rms = Math.sqrt(Math.max(0, variance))
  const high = Math.sqrt(rms * rms + 2 * error) - rms
  const low = rms - Math.sqrt(Math.max(0, rms * rms - 2 * error))
  return Math.max(high, low) / 2
}

/** What the scanner's own ripple may be of a direction that lies along the scanner's: it is averaged out where bands slant over it by two pitches. */
function scannerShare({ scanner }: FilmRipple, solids: readonly SolidRipple[], axis: 'first' | 'second'): Component[] {
  let most = 0
  for (const solid of solids) {
    const way = alongScanner(solid[axis])
    if (way !== null && scanner !== null) most = Math.max(most, scanner[way] / Math.LN10 / solid.net)
  }
  return most > 0 ? [{ name: 'scanner’s own ripple', standard: 100 * most, type: 'B', degreesOfFreedom: null }] : []
}

/** Bands as long as this would not slant over two pitches of theirs: they cannot be told from the scanner's own ripple in that direction. Null when they can. */
export function alongScanner({ direction, widthMm, spectrum: { line } }: AxisRipple): 'across' | 'along' | null {
  const off = direction - 90 * Math.round(direction / 90)
  const pitch = line === null ? UNTOLD_PITCH_MM : 1 / line.frequency
  if (widthMm * Math.abs(Math.sin((off * Math.PI) / 180)) >= 2 * pitch) return null
  return Math.round(direction / 90) % 2 === 0 ? 'across' : 'along'
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

function clearest(solids: readonly SolidRipple[], axis: 'first' | 'second'): SolidRipple | null {
  let best: SolidRipple | null = null
  let least = Number.POSITIVE_INFINITY
  for (const solid of solids) {
    const { spectrum, lengthMm } = solid[axis]
    if (spectrum.line === null) continue
    const { frequency, frequencyError } = spectrum.line
    const off = Math.hypot(frequencyError / frequency, trendShare(frequency, lengthMm))
    if (!(off < least)) continue
    least = off
    best = solid
  }
  return best
}

/** The trend fitted beside a wave is no parabola quite: share of the pitch for a wave of which three lie in view (from the truth tests), falling with their square. */
const TREND_SHARE = 0.01

/** What slow trend may pull a wave's pitch by, share. */
export function trendShare(frequency: number, lengthMm: number): number {
  return TREND_SHARE * (FEWEST_PITCHES / frequency / lengthMm) ** 2
}

function part(
  { umPerPixel }: FilmEvidence['scan'],
  { field: { area } }: SolidRipple,
  axis: AxisRipple,
  id: string,
): Part {
  const { variance, varianceError, line } = axis.spectrum
  const wave = line === null ? 'no wave stands out' : `a wave every ${(1 / line.frequency).toFixed(2)} mm`
  return {
    id,
    place: { column: (1000 * area.x) / umPerPixel.across, row: (1000 * area.y) / umPerPixel.along },
    value: 100 * Math.sqrt(Math.max(0, variance)),
    expanded: 200 * rmsError(variance, varianceError),
    bound: null,
    note: `${directionWords(axis.direction)}: ${wave}, ${axis.lengthMm.toFixed(0)} mm of it read`,
  }
}

/** How a direction of the film lies on the scan. */
export function directionWords(degrees: number): RippleProfile['direction'] {
  const turn = degrees - 180 * Math.round(degrees / 180)
  return Math.abs(turn) < 45 ? 'across the page' : 'down the page'
}
