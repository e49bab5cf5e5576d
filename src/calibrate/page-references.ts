import { median, quantile, trimmedMean } from '../imaging/robust.js'
import type { PixelPoint } from '../model/geometry.js'
import type { OpenScan } from '../model/scan.js'
import type { FoundTablet } from './find-tablet.js'
import type { PageSurvey } from './page-survey.js'
import { type PatchCodes, patchCodes } from './step-codes.js'

/** A plain area beside the tablet, read in several places. */
export interface PageReference {
  readonly code: number
  /** Standard error: of the mean for dark, of a single place for open light (the tablet lies in one place). */
  readonly codeError: number
  readonly pixelNoise: number
  readonly squareNoise: number
  readonly fullShare: number
  readonly zeroShare: number
  /** Centres of the windows read. */
  readonly places: readonly PixelPoint[]
}

/** Kept clear of the tablet and of any other boundary, mm: light spreads that far in film and glass. */
const CLEAR_OF_MM = 1
/** Side of one window read, mm, and how many are read at most and at least. */
const WINDOW_MM = 1.5
const MOST_PLACES = 24
const FEWEST_PLACES = 3
/** Only places within this of the tablet count as its open light, when there are enough: lamps fall off towards the sides. */
const NEAR_MM = 12
/** Open light: as bright as the brightest plateau to within this share (lamps fall off by a percent or two). */
const OPEN_WITHIN = 0.985
/** Open light anywhere on the page is at least this share of the brightest. */
const LEAST_OPEN = 0.95

/**
 * Open light and dark (an opaque holder or card) beside the tablet.
 * Open light is the brightest plateau off the tablet; dark is the darkest even area off the tablet, and only taken when it is no brighter
 * than the tablet's deepest step. Whether it really is opaque is for the response fit to doubt.
 * @param deepestCode mean code of the tablet's last step
 * @returns null for what is not in view
 */
export function pageReferences(
  scan: OpenScan,
  survey: PageSurvey,
  tablet: FoundTablet,
  deepestCode: number,
  umPerPixel: number,
): { open: PageReference | null; dark: PageReference | null } {
  const { means, columns, rows, blockPx } = survey
  const reach = Math.max(1, Math.round((CLEAR_OF_MM * 1000) / umPerPixel / blockPx))
  const offTablet = new Uint8Array(means.length)
  const near = new Uint8Array(means.length)
  const nearPx = (NEAR_MM * 1000) / umPerPixel
  const margin = (CLEAR_OF_MM * 1000) / umPerPixel
  const middle = {
    column: (tablet.centres[0]!.column + tablet.centres.at(-1)!.column) / 2,
    row: (tablet.centres[0]!.row + tablet.centres.at(-1)!.row) / 2,
  }
  const halfLength = (tablet.centres.length * tablet.pitchPx) / 2 + margin
  const halfWidth = tablet.widthPx / 2 + margin
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const dc = (c + 0.5) * blockPx - middle.column
      const dr = (r + 0.5) * blockPx - middle.row
      const u = dc * tablet.axis.column + dr * tablet.axis.row
      const v = -dc * tablet.axis.row + dr * tablet.axis.column
      if (!(Math.abs(u) < halfLength && Math.abs(v) < halfWidth)) offTablet[r * columns + c] = 1
      if (Math.abs(u) < halfLength + nearPx && Math.abs(v) < halfWidth + nearPx) near[r * columns + c] = 1
    }
  const bright: number[] = []
  for (let i = 0; i < means.length; i++) if (offTablet[i] === 1) bright.push(means[i]!)
  if (bright.length === 0) return { open: null, dark: null }
  bright.sort((a, b) => a - b)
  const top = bright[Math.floor(bright.length * 0.98)]!
  // The brightest plateau near the tablet, if it is open light at all: never clear film beside it.
  const beside: number[] = []
  for (let i = 0; i < means.length; i++)
    if (offTablet[i] === 1 && near[i] === 1 && means[i]! > LEAST_OPEN * top) beside.push(means[i]!)
  const topNear = beside.length >= MOST_PLACES ? quantile(beside, 0.95) : top
  const bottom = bright[Math.floor(bright.length * 0.01)]!
  const isOpen = (code: number) => code >= OPEN_WITHIN * topNear
  const span = Math.max(1, top - bottom)
  const darkBelow = Math.max(deepestCode, tablet.darkCode) + 6 * noiseOf(survey) + 5e-4 * span
  const isDark = (code: number) => code <= darkBelow
  const openAnywhere = inner(means, offTablet, columns, rows, reach, isOpen)
  const openNear = openAnywhere.filter(i => near[i] === 1)
  const openPlaces = openNear.length >= MOST_PLACES ? openNear : openAnywhere
  const darkPlaces = inner(means, offTablet, columns, rows, reach, isDark)
  const open = topNear > tablet.openCode * LEAST_OPEN ? readPlaces(openPlaces, 'place') : null
  return { open, dark: readPlaces(darkPlaces, 'mean') }

  function readPlaces(places: readonly number[], error: 'place' | 'mean'): PageReference | null {
    const half = Math.max(4, (WINDOW_MM * 1000) / umPerPixel / 2)
    const stride = Math.max(1, Math.floor(places.length / MOST_PLACES))
    const seen: PatchCodes[] = []
    const centres: PixelPoint[] = []
    for (let k = Math.floor(stride / 2); k < places.length && seen.length < MOST_PLACES; k += stride) {
      const i = places[k]!
      const centre = {
        column: ((i % columns) + 0.5) * blockPx - 0.5,
        row: (Math.floor(i / columns) + 0.5) * blockPx - 0.5,
      }
      const patch = { centre, axis: { column: 1, row: 0 }, halfAlong: half, halfAcross: half }
      const codes = patchCodes(scan, patch, umPerPixel)
      if (codes === null) continue
      seen.push(codes)
      centres.push(centre)
    }
    if (seen.length < FEWEST_PLACES) return null
    const codes = seen.map(s => s.code)
    const code = trimmedMean(codes, 0.1)
    const deviation = Math.sqrt(codes.reduce((sum, c) => sum + (c - code) ** 2, 0) / (codes.length - 1))
    return {
      code,
      codeError: error === 'place' ? deviation : deviation / Math.sqrt(codes.length),
      pixelNoise: median(seen.map(s => s.pixelNoise)),
      squareNoise: median(seen.map(s => s.squareNoise)),
      fullShare: median(seen.map(s => s.fullShare)),
      zeroShare: median(seen.map(s => s.zeroShare)),
      places: centres,
    }
  }
}

/** Blocks whose whole neighbourhood of `reach` blocks is off the tablet and of the wanted level. */
function inner(
  means: Float32Array,
  offTablet: Uint8Array,
  columns: number,
  rows: number,
  reach: number,
  wanted: (code: number) => boolean,
): number[] {
  const along = new Uint8Array(means.length)
  const places: number[] = []
  for (let r = 0; r < rows; r++) {
    let run = 0
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c
      run = offTablet[at] === 1 && wanted(means[at]!) ? run + 1 : 0
      if (run >= 2 * reach + 1) along[at - reach] = 1
    }
  }
  for (let c = 0; c < columns; c++) {
    let run = 0
    for (let r = 0; r < rows; r++) {
      run = along[r * columns + c] === 1 ? run + 1 : 0
      if (run >= 2 * reach + 1) places.push((r - reach) * columns + c)
    }
  }
  return places.sort((a, b) => a - b)
}

function noiseOf(survey: PageSurvey): number {
  const { means } = survey
  const steps: number[] = []
  const stride = Math.max(1, Math.floor(means.length / 20_000))
  for (let i = 0; i + 1 < means.length; i += stride) steps.push(Math.abs(means[i + 1]! - means[i]!))
  return median(steps) / 0.954
}
