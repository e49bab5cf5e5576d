import { surfaceAt } from '../imaging/fit-surface.js'
import type { FlatField, ResponseCurve } from '../model/calibration.js'
import type { Dpi } from '../model/geometry.js'
import { MM_PER_INCH } from '../model/geometry.js'
import { type FlatSurvey, flatField, type TabletPlace } from './flat-field.js'
import { lightTable } from './light-scale.js'
import type { PageReference } from './page-references.js'
import type { PageSurvey } from './page-survey.js'
import { responseCurve, type SeenStep } from './response-curve.js'
import { seenFall } from './seen-fall.js'

interface TabletLightInput {
  readonly seen: readonly SeenStep[]
  readonly open: PageReference | null
  readonly survey: PageSurvey
  readonly dpi: Dpi
  readonly width: number
  readonly height: number
  /** Whether a place of the tablet scan lies on the tablet or just beside it. */
  readonly onTablet: (column: number, row: number) => boolean
  readonly flats: readonly FlatSurvey[]
}

/** The tablet's steps as the lamp showed them. */
export interface TabletLight {
  /** Densities with the fall of light from the tablet's open light to each step on top: what the curve has to be read from. */
  readonly seen: readonly SeenStep[]
  /** The flat field on a curve; null when there is no flat scan. */
  flat(response: ResponseCurve): FlatField | null
  /** Without a flat scan: what the fall of the open light round the tablet may do to its densities, D (standard uncertainty); undefined when even. */
  readonly uneven: number | undefined
  readonly warnings: readonly string[]
}

/** Curve and map are read through each other; each round leaves a hundredth of the last one's error. */
const ROUNDS = 2
/** Steps up to this density make the clear end of the curve, when there are so many. */
const CLEAR_END = 1.7
const FEWEST_CLEAR = 8
/** Light off the tablet brighter than this is bare glass. */
const OPEN_LIGHT = 0.9
/** Fall of light over the tablet, or a film, below this is even enough, D (0.7 %). */
export const EVEN_ENOUGH = 0.003

/**
 * Takes the fall of light out of the steps' densities, so that a lamp that is dimmer at the tablet's end does not bend the curve. With a flat
 * scan, where the tablet's scan can be placed on it; without one it only looks at the open light round the tablet and says what it sees.
 * @throws ProblemError FLAT_*, and what `responseCurve` throws
 */
export function tabletLight(input: TabletLightInput): TabletLight {
  const { seen, open, flats } = input
  if (flats.length === 0) return unmapped(input)
  const tablet: TabletPlace = {
    widthMm: (input.width * MM_PER_INCH) / input.dpi.across,
    heightMm: (input.height * MM_PER_INCH) / input.dpi.along,
    dpi: input.dpi,
    open: open === null ? seen : open.places,
  }
  const flat = (response: ResponseCurve) => flatField(flats, lightOf(response), tablet)
  let shown = seen
  for (let round = 0; round < ROUNDS; round++) {
    const map = flat(clearCurve(shown, open))
    shown = seen.map(step => ({ ...step, density: densityShown(step, map, input.dpi) }))
  }
  const placed = flat(clearCurve(shown, open)).tablet
  const warnings =
    placed.across && placed.along
      ? []
      : [
          'The tablet was not scanned in the same window as the flat scan, so its own steps could be corrected for uneven light only in part or not at all: scan both over the whole glass.',
        ]
  return { seen: shown, flat, uneven: unmapped({ ...input, flats: [] }, placed).uneven, warnings }
}

/** Density a step shows where it lies: its own, the lateral artefact, and the fall of light from where the open light was read. */
function densityShown(step: SeenStep, flat: FlatField, dpi: Dpi): number {
  const { tablet, tested, lateral } = flat
  const clamp = (value: number, from: number, to: number) => Math.min(to, Math.max(from, value))
  const x = ((step.column + 0.5) * MM_PER_INCH) / dpi.across
  const y = ((step.row + 0.5) * MM_PER_INCH) / dpi.along
  const terms = flat.terms.map(term => ({ ...term, value: term.density }))
  const at = (px: number, py: number) => surfaceAt(terms, (2 * px) / flat.widthMm - 1, (2 * py) / flat.heightMm - 1)
  const looks = (from: number, to: number) => Array.from({ length: 21 }, (_, i) => from + ((to - from) * i) / 20)
  const xs = tablet.across ? [clamp(x, tested.left, tested.right)] : looks(tested.left, tested.right)
  const ys = tablet.along ? [clamp(y, tested.top, tested.bottom)] : looks(tested.top, tested.bottom)
  const values = xs.flatMap(px => ys.map(py => at(px, py)))
  const fall = tablet.across || tablet.along ? values.reduce((sum, value) => sum + value, 0) / values.length : 0
  const square = tablet.across ? ((x - flat.widthMm / 2) / 100) ** 2 : 0
  return step.density + lateral.share * square * (step.density - flat.scans[0]!.density) + fall
}

function unmapped(
  { seen, open, survey, onTablet }: TabletLightInput,
  placed: { readonly across: boolean; readonly along: boolean } | null = null,
): TabletLight {
  const even = { seen, flat: () => null, uneven: undefined, warnings: [] }
  if (placed?.across === true && placed.along) return even
  const light = lightOf(clearCurve(seen, open))
  const { columns, rows, blockPx, means } = survey
  const group = new Uint8Array(means.length)
  const seenLight = Float64Array.from(means, light)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c
      if (seenLight[at]! > OPEN_LIGHT && !onTablet((c + 0.5) * blockPx, (r + 0.5) * blockPx)) group[at] = 1
    }
  const fall = seenFall(columns, rows, seenLight, group, [1])
  if (fall === null) return even
  const at = (place: { readonly column: number; readonly row: number }) =>
    fall.at(place.column / blockPx - 0.5, place.row / blockPx - 0.5)
  const from = open === null ? 0 : open.places.reduce((sum, place) => sum + at(place), 0) / open.places.length
  const most = Math.max(...seen.map(step => Math.abs(at(step) - from)))
  if (!(most > EVEN_ENOUGH)) return even
  const percent = (100 * (1 - 10 ** -most)).toFixed(1)
  return {
    ...even,
    uneven: most / Math.sqrt(3),
    warnings: [
      `Open light falls off by up to ${percent} % along the tablet, which bends the scale; U holds it. Calibrate again with --flat and a scan of the bare glass, or lay the tablet where light is even.`,
    ],
  }
}

/** The curve at its clear end, where flare and black do nothing: enough for glass and bare film, and never refused for a deep step. */
function clearCurve(seen: readonly SeenStep[], open: PageReference | null): ResponseCurve {
  const clear = seen.filter(step => step.density <= CLEAR_END)
  return responseCurve(clear.length >= FEWEST_CLEAR ? clear : seen, open, null).response
}

/** Light of any code, between the table's whole ones too. */
function lightOf(response: ResponseCurve): (code: number) => number {
  const table = lightTable(response)
  return code => {
    const low = Math.min(65534, Math.max(0, Math.floor(code)))
    return table[low]! + (table[low + 1]! - table[low]!) * (code - low)
  }
}
