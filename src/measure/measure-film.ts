import type { EdgeProfile } from '../model/measured.js'
import type { NotMeasured, Reading, ReadingName } from '../model/reading.js'
import { CATALOGUE } from './catalogue.js'
import { type FilmEvidence, isReading } from './film-evidence.js'
import type { MeasuredEdge } from './measured-edge.js'
import type { FilmRipple } from './solid-ripple.js'

export interface FilmReadings {
  readonly readings: Partial<Record<ReadingName, Reading>>
  readonly notMeasured: readonly NotMeasured[]
  readonly edges: readonly EdgeProfile[]
  readonly notes: readonly string[]
  /** What the control strip told first, as the artwork beside it tells it; empty without a strip. */
  readonly artwork: Partial<Record<ReadingName, Reading>>
}

/** Readings that the control strip's known fields tell better than whatever the artwork happens to hold. Worst places are looked for on both. */
const STRIP_FIRST: readonly (keyof typeof CATALOGUE)[] = [
  'solidDensity',
  'riseWidth',
  'fringeWidth',
  'inkSpread',
  'raggedness',
  'bandingAmplitude',
  'bandingPitch',
]

/** A profile is shown this far beyond its 10 and 90 % marks, in rise widths. */
const SHOWN_RISES = 1.6
/** An edge that departs from the ink model by more than this share is said to be of another shape. */
const OTHER_SHAPE = 0.02

/** Takes every reading of the catalogue from the evidence of one film. */
export function measureFilm(film: FilmEvidence): FilmReadings {
  const readings: Partial<Record<ReadingName, Reading>> = {}
  const artwork: Partial<Record<ReadingName, Reading>> = {}
  const notMeasured: NotMeasured[] = []
  const whole = withStrip(film)
  const strip = stripFirst(film)
  for (const name of Object.keys(CATALOGUE) as (keyof typeof CATALOGUE)[]) {
    const ofStrip = film.strip !== undefined && STRIP_FIRST.includes(name)
    const measured = CATALOGUE[name](ofStrip ? strip : whole)
    if (isReading(measured)) readings[name] = measured
    else notMeasured.push(measured)
    if (!ofStrip) continue
    const beside = CATALOGUE[name](film)
    if (isReading(beside)) artwork[name] = beside
  }
  return { readings, notMeasured, edges: whole.edges.map(edgeProfile), notes: edgeNotes(whole), artwork }
}

/** Strip and artwork together. */
export function withStrip(film: FilmEvidence): FilmEvidence {
  const { strip, ripple } = film
  if (strip === undefined) return film
  return {
    ...film,
    solids: [...film.solids, ...strip.solids],
    bases: film.bases.length > 0 ? film.bases : strip.clears,
    edges: [...strip.edges, ...film.edges],
    leftOut: [...strip.leftOut, ...film.leftOut],
    ...(ripple === undefined || strip.ripple === undefined ? {} : { ripple: bothRipples(strip.ripple, ripple) }),
  }
}

function bothRipples(strip: FilmRipple, artwork: FilmRipple): FilmRipple {
  return {
    solids: [...strip.solids, ...artwork.solids],
    tooDeep: strip.tooDeep + artwork.tooDeep,
    scanner: artwork.scanner ?? strip.scanner,
  }
}

/** The strip alone, where it has what a reading needs. */
export function stripFirst(film: FilmEvidence): FilmEvidence {
  const { strip } = film
  if (strip === undefined) return film
  const ripple = (strip.ripple?.solids.length ?? 0) > 0 ? strip.ripple : film.ripple
  return {
    ...film,
    solids: strip.solids.length > 0 ? strip.solids : film.solids,
    edges: strip.edges.length > 0 ? strip.edges : film.edges,
    leftOut: [...strip.leftOut, ...film.leftOut],
    ...(ripple === undefined ? {} : { ripple }),
  }
}

function edgeNotes(film: FilmEvidence): string[] {
  const notes: string[] = []
  if (film.leftOut.length > 0)
    notes.push(`${film.leftOut.length} straight edges were left out, the first because ${film.leftOut[0]!.because}.`)
  const odd = film.edges.filter(edge => edge.fit.misfit > OTHER_SHAPE)
  if (odd.length > 0)
    notes.push(
      `${odd.length} of ${film.edges.length} edges are not of the shape that spread ink gives (satellite drops or haze on one side); their ink spread is uncertain by more.`,
    )
  const sparse = film.edges.filter(edge => edge.spread.phaseCoverage < 0.8)
  if (sparse.length > 0)
    notes.push(
      `${sparse.length} of ${film.edges.length} edges lie so square on the glass that the scan did not meet every sub-pixel phase; turn the film by a degree for better widths.`,
    )
  if (film.edges.length > 0) {
    const across = film.edges.filter(edge => edge.spread.direction === 'across').length
    if (across === 0 || across === film.edges.length) notes.push('Straight edges were found in one direction only.')
  }
  return notes
}

function edgeProfile(edge: MeasuredEdge): EdgeProfile {
  const { spread, seen, fit } = edge
  const from = seen.at10 - SHOWN_RISES * seen.width
  const to = seen.at90 + SHOWN_RISES * seen.width
  const distanceUm: number[] = []
  const transmittance: number[] = []
  const model: number[] = []
  for (let i = 0; i < spread.distance.length; i++) {
    if (!(spread.distance[i]! >= from && spread.distance[i]! <= to)) continue
    distanceUm.push(rounded(spread.distance[i]!, 2))
    transmittance.push(rounded(spread.light[i]!, 5))
    model.push(rounded(fit.light[i]!, 5))
  }
  return {
    id: edge.id,
    from: spread.from,
    to: spread.to,
    direction: spread.direction,
    tilt: spread.tilt,
    lengthMm: spread.lengthUm / 1000,
    distanceUm,
    transmittance,
    model,
    clear: spread.clear,
    dark: spread.dark,
    at10: seen.at10,
    at90: seen.at90,
    seenRise: seen.width,
    filmRise: edge.filmRise,
    inkSpread: edge.scannerKnown ? fit.ink.sigma : null,
  }
}

function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals))
}
