import { setImmediate } from 'node:timers/promises'
import { alignArtwork, gridFor } from '../artwork/align-artwork.js'
import { compareInk } from '../artwork/compare-ink.js'
import { openArtwork } from '../decode/open-artwork.js'
import { inkAt } from '../imaging/ink-grid.js'
import { filmInk } from '../locate/film-ink.js'
import { filmTurns } from '../locate/film-turns.js'
import type { LocatedScan } from '../locate/locate-scan.js'
import type { ArtworkAlignment, ArtworkBitmap, ArtworkFit, InkDifference } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'
import type { Doubt, MeasuredArtwork, MeasureRequest } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import { artworkPicture } from '../report/artwork-picture.js'

/** The artwork beside the film, and what there is to say of it. */
export interface LaidArtwork {
  readonly measured: MeasuredArtwork
  readonly notes: readonly string[]
  readonly doubts: readonly Doubt[]
}

/**
 * Opens the artwork and lays it on the film.
 * @returns null when no artwork was given
 * @throws ProblemError FILE_*, ARTWORK_* of an artwork that was chosen; one found in the inbox is a doubt
 */
export async function layArtwork(
  artwork: MeasureRequest['artwork'],
  located: LocatedScan,
  tempDir: string,
): Promise<LaidArtwork | null> {
  if (artwork === undefined) return null
  let bitmap: ArtworkBitmap
  try {
    bitmap = await openArtwork(artwork.file, { tempDir })
  } catch (error) {
    if (!(error instanceof ProblemError) || artwork.chosen) throw error
    const { code, what, next } = error.problem
    return {
      measured: { dpi: null, widthMm: null, heightMm: null, alignment: null, picture: null },
      notes: [],
      doubts: [{ code: 'artworkUnreadable', why: `The artwork in the inbox cannot be used (${code}): ${what}.`, next }],
    }
  }
  const film = filmInk(located)
  const grid = gridFor(bitmap, film.ink)
  const clear = located.regions.base ?? located.regions.openLight ?? 1
  const alignment = alignArtwork(
    bitmap,
    {
      scan: located.scan,
      ...film,
      clear,
      turns: filmTurns(located),
    },
    grid,
  )
  const measured = {
    dpi: bitmap.dpi,
    widthMm: (bitmap.width * MM_PER_INCH) / bitmap.dpi.across,
    heightMm: (bitmap.height * MM_PER_INCH) / bitmap.dpi.along,
    alignment,
    umPerPixel: located.scan.umPerPixel,
    picture: null,
  }
  await othersHeard()
  if (alignment.kind !== 'fitted') return { measured, notes: bitmap.warnings, doubts: [doubtOf(alignment)] }
  const difference = compareInk(bitmap, alignment, {
    scan: located.scan,
    overview: located.overview,
    onFilm: located.regions.film,
    clear,
  })
  await othersHeard()
  const picture = artworkPicture(
    { ...located.overview, transmittance: located.overview.light },
    alignment.map,
    (x, y) => inkAt(grid, grid.ink, x, y),
    [...difference.missing.places, ...difference.extra.places].map(place => place.rect),
  )
  return {
    measured: { ...measured, picture, difference },
    notes: [...bitmap.warnings, ...notesOf(alignment), ...differenceNotes(difference, bitmap)],
    doubts: [],
  }
}

/** Lets this thread hear what others have said meanwhile: one that has ended its work then gives back its memory. */
async function othersHeard(): Promise<void> {
  // The first may come before anything is heard.
  for (let turn = 0; turn < 2; turn++) await setImmediate()
}

/** More of the artwork's ink missing, or added, than this share: not flaws but another state of the job. */
const ANOTHER_STATE = 0.1

function differenceNotes({ missing, extra, crowded }: InkDifference, artwork: ArtworkBitmap): string[] {
  const { width, height, dpi, inkShare } = artwork
  const inkMm2 = (inkShare * width * height * MM_PER_INCH ** 2) / (dpi.across * dpi.along)
  const off = missing.areaMm2 + extra.areaMm2
  if (!crowded && !(off > ANOTHER_STATE * inkMm2)) return []
  return [
    `${crowded ? 'More places than can be counted' : `${Math.round((100 * off) / inkMm2)} % of the artwork’s ink`} differ between film and artwork: it looks like another state of the same job. Check that this is the artwork the film was printed from.`,
  ]
}

function doubtOf({ kind, because, next }: Exclude<ArtworkAlignment, ArtworkFit>): Doubt {
  const why = `${because.charAt(0).toUpperCase()}${because.slice(1)}.`
  return { code: kind === 'blank' || kind === 'solid' ? 'artworkBlank' : 'notThisArtwork', why, next }
}

/** Ink beyond the film by more than this share is said. */
const ALL_ON_FILM = 0.98

function notesOf({ mirrored, turned, onFilm }: ArtworkFit): string[] {
  const notes: string[] = []
  if (mirrored)
    notes.push(
      'On the scan the film lies mirrored against its artwork. Either it was laid on the glass the other side down, or it was printed mirrored, as for ink-side-down exposure; look which. Sizes are not touched by it.',
    )
  const quarter = Math.round(turned / 90) * 90
  if (quarter % 360 !== 0)
    notes.push(
      `The film lies turned by ${Math.abs(quarter) === 180 ? 'half a turn' : 'a quarter turn'} against its artwork; across the head and along the feed are told by the artwork, so nothing changes.`,
    )
  if (!(onFilm >= ALL_ON_FILM))
    notes.push(
      `Only ${Math.round(100 * onFilm)} % of the artwork’s ink has film under it on this scan: the artwork is larger than the film, or part of the film lies outside the scan. Sizes are those of the part in view.`,
    )
  return notes
}
