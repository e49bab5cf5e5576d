import type { FilmSet, SetFilmSource, SetLeftOut, SetPair } from '../model/film-set.js'

/** Separations whose sizes differ by no more than this, mm, share one frame: their resolutions round differently. */
const SAME_FRAME_MM = 0.1

/** A symmetric stretch of the separation's plane: x across the head, y along the feed. */
interface Stretch {
  readonly xx: number
  readonly xy: number
  readonly yy: number
}

/** What may be wrong of the scales, one at a time: a share of a scanner's axis, or of a film's. */
type Doubt = (film: SetFilmSource) => { across: number; along: number; feed: number; width: number }

/**
 * Holds the films of one job against each other. A press sets a film by shifting and turning it; what it cannot set is size and squareness. So of each film
 * only its stretch against its own separation counts (polar decomposition of the fitted map: Golub & Van Loan, Matrix Computations, 9.4.3), and
 * of two films the distance that the best shift and turn leave at the worst corner of the frame (least squares over the four corners).
 *
 * Assumes separations of one job share size and corner, as they leave the RIP. Uncertainty: each doubt is tried in turn (JCGM 100:2008, 5.1.3); the
 * scale of one scanner errs alike on all films that it scanned, so it only counts where they lay differently on the glass. The definition is the project's own.
 */
export function fitFilmSet(sources: readonly SetFilmSource[]): FilmSet {
  const frame = usualFrame(sources)
  const left: SetLeftOut[] = []
  const kept = sources.filter(source => {
    const fits = frame !== null && sameFrame(source.frame, frame)
    if (!fits)
      left.push({
        positive: source.positive,
        because: `its artwork is ${size(source.frame)}, that of the others ${frame === null ? 'another' : size(frame)}`,
        next: 'give the separations of the job as the RIP writes them, all of one size',
      })
    return fits
  })
  if (frame === null) return { frame, films: [], pairs: [], left }
  const doubts = doubtsOf(kept)
  const told = (of: (doubt: Doubt | null) => number) => {
    const value = of(null)
    return { value, expanded: 2 * Math.hypot(...doubts.map(doubt => of(doubt) - value)) }
  }
  const films = kept.map(film => ({
    positive: film.positive,
    id: film.id,
    scannedAt: film.scannedAt,
    sizeErrorAcross: told(doubt => 100 * (stretchOf(film, doubt).xx - 1)),
    sizeErrorFeed: told(doubt => 100 * (stretchOf(film, doubt).yy - 1)),
    unevenUm: film.unevenUm,
  }))
  const pairs = kept
    .flatMap((a, i) => kept.slice(i + 1).map(b => pairOf(a, b, frame, doubts, told)))
    .sort((a, b) => b.registerError.value - a.registerError.value)
  return { frame, films, pairs, left }
}

function pairOf(
  a: SetFilmSource,
  b: SetFilmSource,
  frame: SetFilmSource['frame'],
  doubts: readonly Doubt[],
  told: (of: (doubt: Doubt | null) => number) => { value: number; expanded: number },
): SetPair {
  const left = (doubt: Doubt | null) => misfit(difference(stretchOf(a, doubt), stretchOf(b, doubt)), frame)
  const plain = left(null)
  const lengths = plain.map(([x, y]) => Math.hypot(x, y))
  const at = lengths.indexOf(Math.max(...lengths))
  const worst = plain[at]!
  // A distance never falls below nothing: its uncertainty is that of the vector, whichever way it points.
  const moved = doubts.map(doubt => {
    const [x, y] = left(doubt)[at]!
    return Math.hypot(x - worst[0], y - worst[1])
  })
  return {
    films: [a.positive, b.positive],
    registerError: { value: lengths[at]!, expanded: 2 * Math.hypot(...moved) },
    sizeAcross: told(doubt => 100 * (stretchOf(a, doubt).xx - stretchOf(b, doubt).xx)),
    sizeFeed: told(doubt => 100 * (stretchOf(a, doubt).yy - stretchOf(b, doubt).yy)),
  }
}

/** Square root of `LᵀL`, L the map in mm of the film a mm of the separation: the film's stretch without its turn, mirrored or not. */
function stretchOf(film: SetFilmSource, doubt: Doubt | null): Stretch {
  const { map, umPerPixel } = film
  const off = doubt?.(film) ?? { across: 0, along: 0, feed: 0, width: 0 }
  const across = (umPerPixel.across / 1000) * (1 + off.across)
  const along = (umPerPixel.along / 1000) * (1 + off.along)
  const [xx, xy, yx, yy] = [map.xx * across, map.xy * across, map.yx * along, map.yy * along]
  const c = { xx: xx * xx + yx * yx, xy: xx * xy + yx * yy, yy: xy * xy + yy * yy }
  const root = Math.sqrt(c.xx * c.yy - c.xy * c.xy)
  const scale = Math.sqrt(c.xx + c.yy + 2 * root)
  return { xx: (c.xx + root) / scale + off.width, xy: c.xy / scale, yy: (c.yy + root) / scale + off.feed }
}

function difference(a: Stretch, b: Stretch): Stretch {
  return { xx: a.xx - b.xx, xy: a.xy - b.xy, yy: a.yy - b.yy }
}

/** What the best turn leaves of a stretch at the corners of a frame about its middle, um: two of them, the others lie opposite. */
function misfit(
  { xx, xy, yy }: Stretch,
  { widthMm, heightMm }: SetFilmSource['frame'],
): readonly (readonly [number, number])[] {
  const [w, h] = [500 * widthMm, 500 * heightMm]
  const turn = (xy * (w * w - h * h)) / (w * w + h * h)
  return [h, -h].map(y => [xx * w + (xy + turn) * y, (xy - turn) * w + yy * y] as const)
}

/** Each scanner's two axes, each film's two. */
function doubtsOf(films: readonly SetFilmSource[]): readonly Doubt[] {
  const none = { across: 0, along: 0, feed: 0, width: 0 }
  const scales = [...new Map(films.map(film => [film.scale, film.scaleStandard])).entries()]
  return [
    ...scales.flatMap(([scale, { across, along }]): Doubt[] => [
      film => (film.scale === scale ? { ...none, across } : none),
      film => (film.scale === scale ? { ...none, along } : none),
    ]),
    ...films.flatMap((own): Doubt[] => [
      film => (film.positive === own.positive ? { ...none, width: own.fitStandard.across } : none),
      film => (film.positive === own.positive ? { ...none, feed: own.fitStandard.feed } : none),
    ]),
  ]
}

/** The frame that most separations share; of several the first. */
function usualFrame(sources: readonly SetFilmSource[]): SetFilmSource['frame'] | null {
  let best: { frame: SetFilmSource['frame']; count: number } | null = null
  for (const { frame } of sources) {
    const count = sources.filter(other => sameFrame(other.frame, frame)).length
    if (best === null || count > best.count) best = { frame, count }
  }
  return best?.frame ?? null
}

function sameFrame(a: SetFilmSource['frame'], b: SetFilmSource['frame']): boolean {
  return Math.abs(a.widthMm - b.widthMm) <= SAME_FRAME_MM && Math.abs(a.heightMm - b.heightMm) <= SAME_FRAME_MM
}

function size({ widthMm, heightMm }: SetFilmSource['frame']): string {
  return `${widthMm.toFixed(1)} x ${heightMm.toFixed(1)} mm`
}
