import { poissonInterval } from '../imaging/poisson-interval.js'
import { type SpotLight, spotLight } from '../imaging/spot-light.js'
import {
  FLAW_KINDS,
  type Flaw,
  type FlawKind,
  type FlawRate,
  type MeasuredFlaws,
  MOST_FLAWS_LISTED,
} from '../model/flaw.js'
import type { PixelPoint } from '../model/geometry.js'
import type { LightScale } from '../model/light.js'
import type { FlawCandidate, FlawPlaces } from '../model/located.js'
import type { OpenScan } from '../model/scan.js'
import { mergeFlaws } from './merge-flaws.js'

/** A flaw before it has its number. */
export type UnnumberedFlaw = Omit<Flaw, 'id' | 'filmMm'>

/** Diameter, pixels, from which every spot is found; and below which one is not counted: half a pixel is what a diameter may be off by. */
const SURE_PX = 2
const LEAST_PX = 1.5
/** A round flaw beyond this is artwork (see `findFlaws`), um; the found size was loose. */
const LARGEST_UM = 600
/** The sum must stand out of its own noise by so many times, or the spot is a chance of grain. */
const LEAST_SIGMAS = 6
/** Blur of a scanner whose knife edge nobody scanned, pixels (one sigma). */
const USUAL_BLUR = 0.8
/** Standard uncertainty of the light of clear film less that of solids, as a share: what base and ink vary over a page. */
const SPAN_ERROR = 0.02
/** And of a length. */
const SCALE_ERROR = 0.003
/** Ink shows at least this share of its full darkness where it is wide enough; dust is often less. */
const INK_DARKNESS = 0.8
/** Wide enough: blur leaves at least this share at its middle. */
const WIDE_ENOUGH = 0.9
/** Hairs are thinner, um: the hair of people is at most 0.12 mm (common knowledge, no source), and strokes of type are mostly wider. */
const WIDEST_HAIR_UM = 150
/** No artwork draws a slanting line as thin, um: 0.05 mm is the finest a positive is asked for. */
const THINNEST_DRAWN_UM = 45
/** Lint straighter than a ruled line is short, um. */
const LONGEST_LINT_UM = 4000
/** More spots than this on one page are no flaws of a film. */
const TOO_MANY = 20_000
/** Then so many of the largest are measured, for the map. */
const MEASURED_THEN = 2_000
const COVERAGE = 0.95

/**
 * Sizes of all that was found: the equivalent diameter from the light a spot lets through (or holds back), which blur does not change,
 * um; found from 2 pixels on and counted from 1.5. Assumes the hole itself passes as much as clear film; a hole with ink
 * left in it reads as the smaller hole that would leak as much. Error floor: 2 % of the light of the base, which varies, is 1 % of a diameter.
 */
export function measureFlaws(
  scan: OpenScan,
  umPerPixel: { readonly across: number; readonly along: number },
  lineSpread: LightScale['lineSpread'],
  places: FlawPlaces,
): MeasuredFlaws {
  const um = Math.sqrt(umPerPixel.across * umPerPixel.along)
  const blurPx = blurOf(lineSpread, umPerPixel)
  const tooMany = places.overflow || places.candidates.length > TOO_MANY
  const counts = Object.fromEntries(FLAW_KINDS.map(kind => [kind, 0])) as Record<FlawKind, number>
  const measured: UnnumberedFlaw[] = []
  const chosen = tooMany
    ? [...places.candidates].sort((a, b) => b.cells - a.cells).slice(0, MEASURED_THEN)
    : places.candidates
  for (const candidate of chosen) {
    const flaw = candidate.run === null ? spotFlaw(candidate) : runFlaw(candidate)
    if (flaw !== null) measured.push(flaw)
  }
  const flaws = mergeFlaws(measured, umPerPixel).sort(
    (a, b) => b.leakedMm2 - a.leakedMm2 || a.place.row - b.place.row || a.place.column - b.place.column,
  )
  if (tooMany) for (const candidate of places.candidates) counts[candidate.kind]++
  else for (const flaw of flaws) counts[flaw.kind]++
  return {
    list: flaws.slice(0, MOST_FLAWS_LISTED).map((flaw, k) => ({
      ...flaw,
      id: `flaw-${k + 1}`,
      filmMm: onFilm(flaw.place, places.filmCorners, umPerPixel),
    })),
    counts,
    inspectedMm2: places.inspectedMm2,
    skippedMm2: places.skippedMm2,
    rates: {
      light: tooMany
        ? null
        : rate(counts.pinhole + counts.scratch + counts.missingNozzle + counts.thinSpot, places.inspectedMm2.solid),
      dark: tooMany ? null : rate(counts.speck + counts.hair, places.inspectedMm2.clear),
    },
    leastUm: SURE_PX * um,
    tooMany,
  }

  function spotFlaw(c: FlawCandidate): UnnumberedFlaw | null {
    const dark = c.kind === 'speck' || c.kind === 'hair'
    const reach = Math.min(14, Math.max(4, Math.ceil(3.5 * blurPx) + 2))
    const pad = reach + 2
    const column = Math.max(0, c.left - pad)
    const row = Math.max(0, c.top - pad)
    const window = scan.readWindow({
      column,
      row,
      width: Math.min(scan.header.width, c.right + pad + 1) - column,
      height: Math.min(scan.header.height, c.bottom + pad + 1) - row,
    })
    const spot = spotLight(
      window,
      places.table,
      c,
      dark ? -1 : 1,
      dark ? places.darkBelow : places.lightAbove,
      reach,
      dark ? places.clear : places.solid,
      dark ? places.solid : places.clear,
    )
    if (spot === null || !(spot.area > LEAST_SIGMAS * spot.standard)) return null
    const diameterPx = 2 * Math.sqrt(spot.area / Math.PI)
    const diameterUm = diameterPx * um
    if (!(diameterPx >= LEAST_PX)) return null
    const long = c.kind === 'hair' || c.kind === 'scratch'
    if (!long && diameterUm > LARGEST_UM) return null
    const lengthPx = lengthOf(spot, c)
    const widthPx = spot.area / lengthPx
    if (c.kind === 'hair' && (widthPx * um > WIDEST_HAIR_UM || drawn(c, spot, lengthPx, widthPx))) return null
    const areaError = Math.hypot(spot.standard / spot.area, SPAN_ERROR, 2 * SCALE_ERROR)
    return {
      kind: c.kind,
      place: { column: spot.column, row: spot.row },
      diameterUm,
      expandedUm: 2 * diameterUm * (areaError / 2),
      lengthMm: long ? (lengthPx * um) / 1000 : null,
      widthUm: long ? widthPx * um : null,
      leakedMm2: (spot.area * umPerPixel.across * umPerPixel.along) / 1e6,
      possibleDust: dark && (c.kind === 'hair' || !asDarkAsInk(spot.core, diameterPx)),
      members: 1,
      corners: c.kind === 'scratch' ? alongAxis(spot, c.angle, lengthPx, Math.max(3, widthPx)) : box(c),
    }
  }

  /** A straight thin line along the film's axes was drawn, and so was another that is as dark as ink: dust bends, or lets light through. */
  function drawn(c: FlawCandidate, spot: SpotLight, lengthPx: number, widthPx: number): boolean {
    const bar = spot.cells / (c.long * Math.sqrt(12))
    const straight = c.short <= 1.5 * (bar / Math.sqrt(12)) + 0.3
    if (!straight) return false
    if (c.lies === 'onAxis') return true
    if (widthPx * um < THINNEST_DRAWN_UM || (c.lies === 'alone' && lengthPx * um < LONGEST_LINT_UM)) return false
    const blur = Math.hypot(blurPx, 1 / Math.sqrt(12))
    // Middle of a blurred line of this width; tanh stands for erf within 2 %.
    const whole = Math.tanh((1.13 * widthPx) / (Math.SQRT2 * 2 * blur))
    return spot.core >= INK_DARKNESS * whole
  }

  function asDarkAsInk(core: number, diameterPx: number): boolean {
    const variance = blurPx ** 2 + 1 / 12
    const whole = 1 - Math.exp(-((diameterPx / 2) ** 2) / (2 * variance))
    return whole >= WIDE_ENOUGH && core >= INK_DARKNESS * whole
  }

  function runFlaw(c: FlawCandidate): UnnumberedFlaw | null {
    const { from, to, openMm2 } = c.run!
    const diameterUm = 2000 * Math.sqrt(openMm2 / Math.PI)
    const lengthMm =
      Math.hypot((to.column - from.column) * umPerPixel.across, (to.row - from.row) * umPerPixel.along) / 1000
    const long = c.kind !== 'thinSpot'
    if (long && !(lengthMm > 0)) return null
    const widthUm = long ? (1000 * openMm2) / lengthMm : null
    return {
      kind: c.kind,
      place: { column: (c.left + c.right) / 2, row: (c.top + c.bottom) / 2 },
      diameterUm,
      // Taken from block means: their level is known to a few percent of what the line lets through.
      expandedUm: 2 * diameterUm * (Math.hypot(SPAN_ERROR, 2 * SCALE_ERROR, 0.05) / 2),
      lengthMm: long ? lengthMm : null,
      widthUm,
      leakedMm2: openMm2,
      possibleDust: false,
      members: 1,
      corners: long ? alongLine(from, to, Math.max(3, (widthUm ?? 0) / um)) : box(c),
    }
  }
}

/**
 * Length of a thin spot, pixels: half its outline is its length and its width together, their product its pixels, however it bends. It is seen longer
 * by as much as it is seen wider than its light says.
 */
function lengthOf({ sides, cells, area }: SpotLight, { long }: FlawCandidate): number {
  const half = (sides * Math.PI) / 8
  const seen = Math.max((half + Math.sqrt(Math.max(0, half * half - 4 * cells))) / 2, long * Math.sqrt(12))
  return Math.max(1, 0.5 * seen, seen - Math.max(0, cells / seen - area / seen))
}

function blurOf(
  lineSpread: LightScale['lineSpread'],
  umPerPixel: { readonly across: number; readonly along: number },
): number {
  // A Gaussian rises from 10 to 90 % over 2.5631 of its sigma; what the pixel adds is in it.
  const { across, along } = lineSpread
  const sigmas = [
    across === null ? USUAL_BLUR : across.riseWidth / 2.5631 / umPerPixel.across,
    along === null ? USUAL_BLUR : along.riseWidth / 2.5631 / umPerPixel.along,
  ]
  return Math.max(...sigmas)
}

function rate(found: number, mm2: number): FlawRate | null {
  if (!(mm2 > 0)) return null
  const dm2 = mm2 / 10_000
  const { low, high } = poissonInterval(found, COVERAGE)
  return { found, perDm2: found / dm2, low: low / dm2, high: high / dm2 }
}

function box({ left, top, right, bottom }: FlawCandidate): PixelPoint[] {
  return [
    { column: left - 0.5, row: top - 0.5 },
    { column: right + 0.5, row: top - 0.5 },
    { column: right + 0.5, row: bottom + 0.5 },
    { column: left - 0.5, row: bottom + 0.5 },
  ]
}

function alongAxis({ column, row }: PixelPoint, angle: number, length: number, half: number): PixelPoint[] {
  const x = (Math.cos(angle) * length) / 2
  const y = (Math.sin(angle) * length) / 2
  return alongLine({ column: column - x, row: row - y }, { column: column + x, row: row + y }, half)
}

function alongLine(from: PixelPoint, to: PixelPoint, half: number): PixelPoint[] {
  const long = Math.hypot(to.column - from.column, to.row - from.row) || 1
  const x = (-(to.row - from.row) / long) * half
  const y = ((to.column - from.column) / long) * half
  return [
    { column: from.column + x, row: from.row + y },
    { column: to.column + x, row: to.row + y },
    { column: to.column - x, row: to.row - y },
    { column: from.column - x, row: from.row - y },
  ]
}

/** From the film's first corner along its upper and left sides, mm. */
function onFilm(
  { column, row }: PixelPoint,
  corners: readonly PixelPoint[] | null,
  { across, along }: { readonly across: number; readonly along: number },
): Flaw['filmMm'] {
  const [first, second] = corners ?? []
  if (first === undefined || second === undefined) return null
  const ux = (second.column - first.column) * across
  const uy = (second.row - first.row) * along
  const long = Math.hypot(ux, uy)
  if (!(long > 0)) return null
  const dx = (column - first.column) * across
  const dy = (row - first.row) * along
  return { x: (dx * ux + dy * uy) / long / 1000, y: (-dx * uy + dy * ux) / long / 1000 }
}
