import { surfaceAt } from '../imaging/fit-surface.js'
import type { Calibration, FlatField } from '../model/calibration.js'
import type { Dpi, PixelPoint } from '../model/geometry.js'
import { MM_PER_INCH } from '../model/geometry.js'
import type { LightScale } from '../model/light.js'
import type { Component } from '../model/reading.js'
import { sameWindow } from './flat-field.js'

/** What a flat field says of one scan: how light falls at its places, what is not known of that, and where it was tested. */
export interface GlassLight {
  /** Whether columns, and rows, of the scan have a known place on the glass. */
  readonly placed: { readonly across: boolean; readonly along: boolean }
  /** Light at a place over that beside the tablet for the same film. */
  lit(column: number, row: number): number
  /** Fall of light over some places, D, on the mean; and the lateral artefact's square, (x / 100 mm)^2. */
  at(places: readonly PixelPoint[]): { readonly fall: number; readonly square: number; readonly standard: number }
  /** Whether a place lies in the part of the glass that the flat scan saw. */
  tested(place: PixelPoint): boolean
  /** Density that the film had, D, from what is seen once the fall is taken off; and its uncertainty by the lateral artefact. */
  withoutLateral(density: number, square: number): { readonly density: number; readonly standard: number }
  /** Sentence for the report; null when all is known. */
  readonly note: string | null
}

/** A lamp is not quite the same from day to day: a correction is uncertain by this share of itself. Common practice, no source. */
const STEADY_SHARE = 0.05
/** Beyond what was tested light may fall on, D a mm. */
const OUTSIDE_PER_MM = 0.0005
/** Places at which the map is looked at to say how much it varies, a side. */
const LOOKS = 25

/**
 * The flat field as it applies to one scan. Where the scan lies on the glass is known from its size: as wide as the flat scan, its columns
 * are the flat scan's columns; as high, its rows. What cannot be placed is not corrected: the most that the map varies over a window of that
 * size goes into the uncertainty (rectangular).
 * @param openInView whether open light in the scan tells its level, so that only the fall within the scan is in doubt
 */
export function glassLight(
  calibration: Calibration,
  flat: FlatField,
  scan: { readonly width: number; readonly height: number; readonly dpi: Dpi },
  openInView: boolean,
): GlassLight {
  const mm = { across: MM_PER_INCH / scan.dpi.across, along: MM_PER_INCH / scan.dpi.along }
  const window = { widthMm: scan.width * mm.across, heightMm: scan.height * mm.along, dpi: scan.dpi }
  const { across, along } = sameWindow(window, { ...flat, dpi: calibration.scan.dpi })
  const { tested, lateral } = flat
  const terms = flat.terms.map(term => ({ ...term, value: term.density }))
  const map = (x: number, y: number) => surfaceAt(terms, (2 * x) / flat.widthMm - 1, (2 * y) / flat.heightMm - 1)
  const xs = ramp(tested.left, tested.right)
  const ys = ramp(tested.top, tested.bottom)
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length
  const clampX = (x: number) => Math.min(tested.right, Math.max(tested.left, x))
  const clampY = (y: number) => Math.min(tested.bottom, Math.max(tested.top, y))
  // A direction that cannot be placed is averaged over the glass; with neither, light is left as it is.
  const known = (x: number, y: number): number =>
    across && along
      ? map(clampX(x), clampY(y))
      : across
        ? mean(ys.map(any => map(clampX(x), any)))
        : along
          ? mean(xs.map(any => map(any, clampY(y))))
          : 0
  const unplaced =
    across && along ? 0 : mostVariation(map, known, flat, { ...window, across, along }, openInView) / Math.sqrt(3)

  // Lines of a table: the overview asks for every block of the page.
  const columnFall = new Map<number, number>()
  const fallAt = (column: number, row: number): number => {
    if (!across && !along) return 0
    if (across && along) return known((column + 0.5) * mm.across, (row + 0.5) * mm.along)
    const line = across ? column : row
    const kept = columnFall.get(line)
    if (kept !== undefined) return kept
    const fall = known((column + 0.5) * mm.across, (row + 0.5) * mm.along)
    columnFall.set(line, fall)
    return fall
  }

  const middle = flat.widthMm / 2
  const squareOf = (x: number) => ((x - middle) / 100) ** 2
  // Anywhere on the glass: the mean of the square.
  const anySquare = middle ** 2 / 3 / 100 ** 2
  const film = flat.scans[0]!.density
  const tabletSquare = squareOfTablet(calibration, flat, squareOf)

  return {
    placed: { across, along },
    lit: (column, row) => 10 ** -fallAt(column, row),
    at(places) {
      const falls = places.map(p => fallAt(p.column, p.row))
      const fall = mean(falls)
      const beyond = mean(places.map(outside))
      return {
        fall,
        square: across ? mean(places.map(p => squareOf((p.column + 0.5) * mm.across))) : anySquare,
        standard: Math.hypot(flat.standard, STEADY_SHARE * fall, unplaced, beyond),
      }
    },
    tested(place) {
      const x = (place.column + 0.5) * mm.across
      const y = (place.row + 0.5) * mm.along
      return (!across || x === clampX(x)) && (!along || y === clampY(y))
    },
    withoutLateral(density, square) {
      const share = across ? lateral.share : 0
      const clean = (density + share * film * square) / (1 + share * square)
      // What is common to the film and the tablet's step of that density is in the curve already.
      const apart = across
        ? Math.abs((clean - film) * square - (clean - film) * tabletSquare(clean))
        : Math.abs(clean - film) * square
      const standard = across ? lateral.standard : Math.hypot(lateral.standard, lateral.share)
      return { density: clean, standard: standard * apart }
    },
    note: placeNote({ across, along }, flat),
  }

  /** D that light may have fallen further where nothing was tested. */
  function outside(place: PixelPoint): number {
    const x = (place.column + 0.5) * mm.across
    const y = (place.row + 0.5) * mm.along
    const offX = across ? Math.abs(x - clampX(x)) : 0
    const offY = along ? Math.abs(y - clampY(y)) : 0
    const distance = Math.hypot(offX, offY)
    if (!(distance > 0)) return 0
    const goesOn = map(across ? x : clampX(x), along ? y : clampY(y)) - map(clampX(x), clampY(y))
    return Math.hypot(goesOn, OUTSIDE_PER_MM * distance)
  }
}

/**
 * The scale on a glass that is not lit evenly: density loses what light falls at the place, and the lateral artefact as far as it was measured.
 * Adds `across the glass` and `lateral density` to every budget. What the scale is told of light round a place is as the scanner saw it.
 */
export function withEvenLight(scale: LightScale, glass: GlassLight): LightScale {
  return {
    ...scale,
    density(meanCode, codeError, surround, places) {
      const seen = scale.density(meanCode, codeError, surround)
      if (places === undefined || places.length === 0) return seen
      const { fall, square, standard } = glass.at(places)
      const take = (density: number) => glass.withoutLateral(density - fall, square).density
      const lateral = glass.withoutLateral(seen.density - fall, square).standard
      return added({ ...seen, density: Math.max(0, take(seen.density)), guess: take(seen.guess) }, [
        { name: 'across the glass', standard },
        { name: 'lateral density', standard: lateral },
      ])
    },
  }
}

/** The scale on a glass that no flat scan tells of, and whose light is seen to fall off: nothing is corrected, U holds it. */
export function withUnevenLight(scale: LightScale, standard: number): LightScale {
  return {
    ...scale,
    density: (meanCode, codeError, surround, places) =>
      added(scale.density(meanCode, codeError, surround, places), [{ name: 'across the glass', standard }]),
  }
}

function added(
  seen: ReturnType<LightScale['density']>,
  components: readonly Component[],
): ReturnType<LightScale['density']> {
  // A bound has its uncertainty taken off already: so has it to be with what comes on top.
  const more = Math.hypot(...components.map(c => c.standard))
  return {
    ...seen,
    density: seen.bound === null ? seen.density : Math.max(0, seen.density - 2 * more),
    standard: Math.hypot(seen.standard, more),
    budget: [...seen.budget, ...components],
  }
}

function ramp(from: number, to: number): number[] {
  return Array.from({ length: LOOKS }, (_, i) => from + ((to - from) * i) / (LOOKS - 1))
}

/**
 * The most that light departs from what is corrected, D: with open light in view from its mean over a window of the scan's size, wherever
 * on the glass that lies; without, from the tablet's.
 */
function mostVariation(
  map: (x: number, y: number) => number,
  known: (x: number, y: number) => number,
  { tested }: FlatField,
  window: { readonly widthMm: number; readonly heightMm: number; readonly across: boolean; readonly along: boolean },
  openInView: boolean,
): number {
  const places = (from: number, to: number, size: number, placed: boolean): { from: number; to: number }[] => {
    const length = Math.min(size, to - from)
    if (placed || !(to - from > length)) return [{ from, to }]
    return Array.from({ length: 9 }, (_, i) => {
      const start = from + ((to - from - length) * i) / 8
      return { from: start, to: start + length }
    })
  }
  const looks = (span: { from: number; to: number }) => ramp(span.from, span.to).filter((_, i) => i % 3 === 0)
  let most = 0
  for (const wide of places(tested.left, tested.right, window.widthMm, window.across))
    for (const high of places(tested.top, tested.bottom, window.heightMm, window.along)) {
      const off = looks(high).flatMap(y => looks(wide).map(x => map(x, y) - known(x, y)))
      const level = openInView ? off.reduce((sum, value) => sum + value, 0) / off.length : 0
      for (const value of off) most = Math.max(most, Math.abs(value - level))
    }
  return most
}

/** The lateral square at the tablet's step of a density; 0 where the tablet was not placed. */
function squareOfTablet(
  calibration: Calibration,
  flat: FlatField,
  squareOf: (x: number) => number,
): (density: number) => number {
  if (!flat.tablet.across) return () => 0
  const mm = MM_PER_INCH / calibration.scan.dpi.across
  const steps = calibration.steps.map(step => ({
    density: step.density,
    square: squareOf((step.column + 0.5) * mm),
  }))
  return density => {
    const after = steps.findIndex(step => step.density >= density)
    if (after === 0) return steps[0]!.square
    if (after < 0) return steps.at(-1)!.square
    const [low, high] = [steps[after - 1]!, steps[after]!]
    return low.square + ((high.square - low.square) * (density - low.density)) / (high.density - low.density)
  }
}

function placeNote(placed: { readonly across: boolean; readonly along: boolean }, flat: FlatField): string | null {
  const { least, greatest } = flat.uniformity
  const varies = `light varies by ${(greatest - least).toFixed(1)} % over the glass`
  if (placed.across && placed.along) return null
  if (!placed.across && !placed.along)
    return `The scan is not as wide as the flat scan (${flat.widthMm.toFixed(1)} mm) nor as high (${flat.heightMm.toFixed(1)} mm), so where on the glass it lay is not known and the flat field could not be applied; ${varies}, and U holds that. Scan the whole width of the glass.`
  const [known, other] = placed.across ? ['columns', 'high'] : ['rows', 'wide']
  const least_ = placed.across ? flat.heightMm : flat.widthMm
  return `The scan is not as ${other} as the flat scan (${least_.toFixed(1)} mm): the flat field was applied by ${known} only, and U holds the rest.`
}
