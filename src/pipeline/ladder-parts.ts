import { findPatchRow } from '../locate/find-patch-row.js'
import { locatePart } from '../locate/locate-part.js'
import type { LocatedScan } from '../locate/locate-scan.js'
import type { FilmReadings } from '../measure/measure-film.js'
import type { PixelPoint, PixelRect } from '../model/geometry.js'
import type { LadderPart, LadderRequest, Picture } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import { densityPicture } from '../report/density-picture.js'

/** Side of the crops, um: a solid, an edge and clear film in one look. */
const CROP_UM = 4000
/** A patch's cell reaches this far from its middle, in pitches: its edges and some clear film, and nothing of its neighbours. */
const CELL = 0.49

/**
 * The parts of a ladder's scan, each read as a film of its own: the whole scan, or each patch of a row.
 * @param whole what the scan read as one film
 * @param read takes the readings of one part as of a film
 * @throws ProblemError LADDER_ROW_NOT_FOUND
 */
export async function ladderParts(
  request: LadderRequest,
  located: LocatedScan,
  whole: FilmReadings,
  read: (part: LocatedScan, inside: (place: PixelPoint) => boolean) => FilmReadings,
): Promise<readonly LadderPart[]> {
  if (request.kind === 'whole')
    return [
      {
        index: 0,
        readings: whole.readings,
        notMeasured: whole.notMeasured,
        notes: [],
        crop: await crop(located, whole, 0),
      },
    ]
  const row = findPatchRow(located, request.count, request.pitchMm)
  if (row.kind === 'notFound') throw new ProblemError('LADDER_ROW_NOT_FOUND', row.because)
  const { across, along } = located.scan.umPerPixel
  const reach = CELL * request.pitchMm * 1000
  const parts: LadderPart[] = []
  for (const { index, centre } of row.patches) {
    const inside = (place: PixelPoint) =>
      Math.hypot((place.column - centre.column) * across, (place.row - centre.row) * along) <= reach * Math.SQRT2 &&
      nearest(row.patches, place, located.scan.umPerPixel) === index
    const part = read(locatePart(located, inside), inside)
    parts.push({
      index,
      readings: part.readings,
      notMeasured: part.notMeasured,
      notes: row.notes,
      crop: await crop(located, part, index),
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
async function crop(located: LocatedScan, read: FilmReadings, index: number): Promise<Picture | null> {
  const edge = read.edges.reduce<FilmReadings['edges'][number] | null>(
    (best, one) => (best === null || one.lengthMm > best.lengthMm ? one : best),
    null,
  )
  const centre =
    edge !== null
      ? { column: (edge.from.column + edge.to.column) / 2, row: (edge.from.row + edge.to.row) / 2 }
      : (read.readings.solidDensity?.parts[0]?.place ?? null)
  if (centre === null) return null
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
