import { findPatchRow } from '../locate/find-patch-row.js'
import { locatePart, partRegions } from '../locate/locate-part.js'
import type { LocatedScan } from '../locate/locate-scan.js'
import { type LocatedStrip, type ReadStrip, readStrip } from '../locate/locate-strips.js'
import type { FilmReadings } from '../measure/measure-film.js'
import type { PixelPoint, PixelRect } from '../model/geometry.js'
import type { LadderPart, LadderRequest, Picture } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import type { StripMap, StripRect } from '../model/strip.js'
import { densityPicture } from '../report/density-picture.js'
import { encloses } from './beside-strips.js'

/** Side of the crops, um: a solid, an edge and clear film in one look. */
const CROP_UM = 4000
/** A patch's cell reaches this far from its middle, in pitches: its edges and some clear film, and nothing of its neighbours. */
const CELL = 0.49

/** Takes the readings of one part as of a film: of a strip from its own fields, of a patch from what was found in it. */
export type ReadPart = (
  part: LocatedScan,
  inside: (place: PixelPoint) => boolean,
  strip: ReadStrip | null,
) => FilmReadings

/**
 * The parts of a ladder's scan, each read as a film of its own: every strip whose code says what it is, each patch of a row, or the whole
 * scan where no strip does.
 * @param whole what the scan read as one film
 * @throws ProblemError LADDER_ROW_NOT_FOUND
 */
export async function ladderParts(
  request: LadderRequest,
  located: LocatedScan,
  whole: FilmReadings,
  read: ReadPart,
): Promise<readonly LadderPart[]> {
  if (request.kind === 'patches') return patchParts(request, located, read)
  const strips = await stripParts(located, read)
  if (strips.some(part => part.strip?.identity !== null)) return strips
  return [
    {
      index: 0,
      readings: whole.readings,
      notMeasured: whole.notMeasured,
      notes: [],
      crop: crop(located, whole, 0),
      // A lone strip whose code is spoilt is told by its scan's name: the sheet holds one setting then.
      ...(strips[0]?.strip === undefined ? {} : { strip: strips[0].strip }),
    },
  ]
}

/** Every strip in view, from top to bottom; one whose code cannot be read is listed without readings. */
async function stripParts(located: LocatedScan, read: ReadPart): Promise<readonly LadderPart[]> {
  const { scan, regions, strips } = located
  const clear = regions.base ?? regions.openLight ?? 0
  const parts: LadderPart[] = []
  for (const [index, { strip, at }] of inOrder(located, strips).entries()) {
    const one = await readStrip(scan, strip, clear)
    const about = { of: strips.length, atMm: at }
    if ('kind' in one) {
      const spoilt = { ...about, identity: null, refused: one.because }
      parts.push({ index, strip: spoilt, readings: {}, notMeasured: [], notes: [], crop: null })
      continue
    }
    const { laid, layout } = one
    const inside = (place: PixelPoint) => encloses(laid.corners, place.column, place.row)
    const part = read({ ...located, regions: partRegions(located, inside) }, inside, one)
    const solid = layout.fields.find(field => field.kind === 'solid')
    parts.push({
      index,
      strip: { ...about, identity: laid.identity, refused: null },
      readings: part.readings,
      notMeasured: part.notMeasured,
      notes: [],
      crop: solid === undefined ? null : window(located, rightEdge(solid.rect, laid.map), index),
    })
  }
  return parts
}

/** Strips by where they lie on the scan: down the page, beside each other from left to right. */
function inOrder(
  { scan: { umPerPixel } }: LocatedScan,
  strips: readonly LocatedStrip[],
): { strip: LocatedStrip; at: { across: number; down: number } }[] {
  const mm = (pixels: number, um: number) => Math.round((pixels * um) / 1000)
  return strips
    .map(strip => ({
      strip,
      at: {
        across: mm(strip.corners.reduce((sum, c) => sum + c.column, 0) / strip.corners.length, umPerPixel.across),
        down: mm(strip.corners.reduce((sum, c) => sum + c.row, 0) / strip.corners.length, umPerPixel.along),
      },
    }))
    .sort((a, b) => a.at.down - b.at.down || a.at.across - b.at.across)
}

/** Middle of a field's right edge on the scan: ink on one side, clear film on the other, at the same place of every strip. */
function rightEdge({ x, y, width, height }: StripRect, map: StripMap): PixelPoint {
  const [mx, my] = [x + width, y + height / 2]
  return { column: map.x0 + map.xx * mx + map.xy * my, row: map.y0 + map.yx * mx + map.yy * my }
}

async function patchParts(
  request: Extract<LadderRequest, { kind: 'patches' }>,
  located: LocatedScan,
  read: ReadPart,
): Promise<readonly LadderPart[]> {
  const row = findPatchRow(located, request.count, request.pitchMm)
  if (row.kind === 'notFound') throw new ProblemError('LADDER_ROW_NOT_FOUND', row.because)
  const { across, along } = located.scan.umPerPixel
  const reach = CELL * request.pitchMm * 1000
  const parts: LadderPart[] = []
  for (const { index, centre } of row.patches) {
    const inside = (place: PixelPoint) =>
      Math.hypot((place.column - centre.column) * across, (place.row - centre.row) * along) <= reach * Math.SQRT2 &&
      nearest(row.patches, place, located.scan.umPerPixel) === index
    const part = read(locatePart(located, inside), inside, null)
    parts.push({
      index,
      readings: part.readings,
      notMeasured: part.notMeasured,
      notes: row.notes,
      crop: crop(located, part, index),
    })
  }
  return parts
}

function nearest(
  patches: readonly { readonly index: number; readonly centre: PixelPoint }[],
  place: PixelPoint,
  umPerPixel: { readonly across: number; readonly along: number },
): number {
  const off = ({ centre }: { readonly centre: PixelPoint }) =>
    Math.hypot((place.column - centre.column) * umPerPixel.across, (place.row - centre.row) * umPerPixel.along)
  return patches.reduce((best, patch) => (off(patch) < off(best) ? patch : best)).index
}

/** The middle of the longest edge, else of the first solid; null where there is neither. */
function crop(located: LocatedScan, read: FilmReadings, index: number): Picture | null {
  const edge = read.edges.reduce<FilmReadings['edges'][number] | null>(
    (best, one) => (best === null || one.lengthMm > best.lengthMm ? one : best),
    null,
  )
  const centre =
    edge !== null
      ? { column: (edge.from.column + edge.to.column) / 2, row: (edge.from.row + edge.to.row) / 2 }
      : (read.readings.solidDensity?.parts[0]?.place ?? null)
  return centre === null ? null : window(located, centre, index)
}

function window(located: LocatedScan, centre: PixelPoint, index: number): Picture | null {
  const { width, height } = located.scan.scan.header
  const rect = within(
    centre,
    CROP_UM / located.scan.umPerPixel.across,
    CROP_UM / located.scan.umPerPixel.along,
    width,
    height,
  )
  return rect === null ? null : densityPicture(located.scan, rect, `step-${index + 1}`, 'A solid and its edge')
}

/** A window of the full size, moved onto the page where it would reach beyond; null on a page smaller than it. */
function within(centre: PixelPoint, wide: number, high: number, width: number, height: number): PixelRect | null {
  const size = { width: Math.round(wide), height: Math.round(high) }
  if (size.width > width || size.height > height) return null
  const place = (at: number, length: number, page: number) =>
    Math.min(page - length, Math.max(0, Math.round(at - length / 2)))
  return {
    column: place(centre.column, size.width, width),
    row: place(centre.row, size.height, height),
    ...size,
  }
}
