import { surroundLight } from '../imaging/surround-light.js'
import type { Flare, ResponseCurve } from '../model/calibration.js'
import { type PixelPoint, UM_PER_INCH } from '../model/geometry.js'
import type { OpenScan } from '../model/scan.js'
import { BLACK_DRIFT_CODES } from './deepest-density.js'
import { FLARE_REACHES, fitFlare, type OpaquePlace, SHAPE_ERROR } from './fit-flare.js'
import { flareLight } from './flare-light.js'
import { lightTable } from './light-scale.js'
import { FLARE_BLOCK_UM, flareOverview, type OpaqueBlock, type OpaqueView, opaqueBlocks } from './opaque-blocks.js'
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
  /** Places spread over what was read of each step, pixels: the light round a step is the mean over them, as its code is. */
  readonly stepPlaces: readonly (readonly PixelPoint[])[]
}

/** Black within the one scan: what its columns differ by, codes. */
const SAME_SCAN_ERROR = 0.3
/** Fewer opaque blocks than this show nothing. */
const FEWEST_BLOCKS = 24
/** Opaque blocks are put together, at least over this distance and into no more places than this: flare varies slowly, near ones tell the same. */
const PLACE_MM = 2
const MOST_PLACES = 40
/** A place with fewer blocks is too noisy. */
const FEWEST_IN_PLACE = 4

/**
 * The response with flare told apart from black: flare follows the light round a place, black does not. With a flare the
 * steps and the opaque area stand at their effective densities, flare included, and the curve is the sensor's own.
 * @returns the curve, the flare, and the light round every step at each reach
 */
export function flaredResponse(input: FlaredInput): {
  fitted: FittedResponse
  flare: Flare
  surrounds: readonly (readonly number[])[]
} {
  const plain = responseCurve(input.seen, input.open, input.dark)
  const { steps, opaque } = placesOf(input, lightTable(plain.response))
  const flare = fitFlare({ steps, open: input.open, opaque, start: plain.response })
  const kept = flare.reaches.map(reach => FLARE_REACHES.indexOf(reach))
  const atKept = (surround: readonly number[]) => kept.map(k => surround[k]!)
  const surrounds = steps.map(step => atKept(step.surround))
  if (flare.share === 0) return { fitted: plain, flare, surrounds }
  const seenLight = (transmittance: number, surround: readonly number[]) =>
    Math.max(0, transmittance + flareLight(flare, atKept(surround))) / (1 + flare.share)
  const floor = floorOf(
    opaque.map(place => ({ ...place, light: seenLight(0, place.surround) })),
    plain.response,
  )
  const fitted = responseCurve(
    steps.map(step => ({ ...step, density: -Math.log10(seenLight(10 ** -step.density, step.surround)) })),
    input.open,
    floor ?? input.dark,
  )
  return { fitted, flare, surrounds }
}

/** Places whose flare differs by no more than this share of itself tell black alike. */
const ALIKE = 0.05

/**
 * Black as the opaque places tell it: of all of them those whose codes are known best from their flare, which with a bent response are not
 * the darkest. Null when there are none.
 */
function floorOf(
  places: readonly (OpaquePlace & { readonly light: number })[],
  { gain, gamma }: Pick<ResponseCurve, 'gain' | 'gamma'>,
): SeenDark | null {
  const errors = places.map(({ light, view }) => {
    const shape = gain * ((light + SHAPE_ERROR) ** (1 / gamma) - light ** (1 / gamma))
    return Math.hypot(view === 0 ? SAME_SCAN_ERROR : BLACK_DRIFT_CODES, shape)
  })
  const codeError = Math.min(...errors)
  const best = places[errors.indexOf(codeError)]
  if (best === undefined) return null
  const near = Math.max(SHAPE_ERROR, ALIKE * best.light)
  const alike = places.filter(place => place.view === best.view && Math.abs(place.light - best.light) <= near)
  const mean = (of: (place: (typeof alike)[number]) => number) =>
    alike.reduce((sum, place) => sum + of(place), 0) / alike.length
  return { code: mean(p => p.code), density: -Math.log10(mean(p => p.light)), codeError, zeroShare: 0 }
}

function placesOf(input: FlaredInput, table: Float32Array) {
  const um = { across: input.umPerPixel, along: input.umPerPixel }
  const views: OpaqueView[] = [{ scan: input.tablet, umPerPixel: um, excluded: input.onTablet }]
  if (input.edge !== null) {
    // The edge scan's own dpi decides its lengths; without one it is taken to be the tablet's.
    const dpi = input.edge.header.dpi
    const edgeUm = dpi === null ? um : { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
    views.push({ scan: input.edge, umPerPixel: edgeUm })
  }
  let steps: (SeenStep & { readonly surround: readonly number[] })[] = []
  const opaque: OpaquePlace[] = []
  for (const [index, view] of views.entries()) {
    const overview = flareOverview(view, table)
    const around = surroundLight(overview, view.umPerPixel, FLARE_REACHES)
    if (index === 0)
      steps = input.seen.map((step, i) => ({
        ...step,
        surround: meanOf(input.stepPlaces[i]!.map(place => around.at(place.column, place.row))),
      }))
    const blocks = opaqueBlocks(view, overview)
    if (blocks.length < FEWEST_BLOCKS) continue
    const um = Math.sqrt(view.umPerPixel.across * view.umPerPixel.along)
    const areaMm2 = blocks.length * (FLARE_BLOCK_UM / 1000) ** 2
    const cellPx = (1000 * Math.max(PLACE_MM, Math.sqrt(areaMm2 / MOST_PLACES))) / um
    const cells = new Map<string, OpaqueBlock[]>()
    for (const block of blocks) {
      const key = `${Math.floor(block.column / cellPx)} ${Math.floor(block.row / cellPx)}`
      cells.set(key, [...(cells.get(key) ?? []), block])
    }
    for (const list of cells.values()) {
      if (list.length < FEWEST_IN_PLACE) continue
      opaque.push({
        code: list.reduce((sum, b) => sum + b.code, 0) / list.length,
        surround: meanOf(list.map(b => around.at(b.column, b.row))),
        view: index,
      })
    }
  }
  return { steps, opaque }
}

function meanOf(lists: readonly (readonly number[])[]): number[] {
  return FLARE_REACHES.map((_, k) => lists.reduce((sum, list) => sum + list[k]!, 0) / lists.length)
}
