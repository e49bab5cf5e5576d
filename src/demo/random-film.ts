import { blockText, hairLines, registerMark, solid, textWidth, tint } from './artwork.js'
import type { Film, Shape } from './film.js'
import { type Random, seededRandom } from './random.js'
import type { BedScan, DemoScanner, Placement } from './scanner.js'
import { type FilmEdge, filmRise, fringeWidth } from './truth.js'

/** Ranges a random film is drawn from; each [low, high]. */
export interface RandomFilmRanges {
  readonly baseDensity: readonly [number, number]
  readonly netDensity: readonly [number, number]
  readonly inkSpreadUm: readonly [number, number]
  /** Tilt against the grid, degrees; a random quarter turn comes on top. */
  readonly tiltDegrees: readonly [number, number]
  readonly dpi: readonly number[]
  readonly blurUm: readonly [number, number]
  readonly gamma: readonly [number, number]
  readonly black: readonly [number, number]
  readonly readNoise: readonly [number, number]
  readonly shotNoise: readonly [number, number]
  readonly veil: readonly [number, number]
  /** True pixel pitch against the said one, share, either sign. */
  readonly scaleError: readonly [number, number]
  readonly mirrored: readonly boolean[]
  /** Density contours above base of the fringe width. */
  readonly fringe: { readonly low: number; readonly high: number }
  /** rms share of the ink amount. */
  readonly grain: readonly [number, number]
}

export const RANDOM_FILM_RANGES: RandomFilmRanges = {
  baseDensity: [0.03, 0.1],
  netDensity: [1.5, 3.6],
  inkSpreadUm: [8, 80],
  tiltDegrees: [0.1, 10],
  dpi: [1200],
  blurUm: [6, 16],
  gamma: [1, 2.2],
  black: [100, 800],
  readNoise: [4, 20],
  shotNoise: [60, 250],
  veil: [0, 0.0003],
  scaleError: [0, 0],
  mirrored: [false, true],
  fringe: { low: 0.25, high: 2.25 },
  grain: [0, 0],
}

/** What is true of a random film. */
export interface FilmTruth {
  readonly baseDensity: number
  /** Density of the solids, base included. */
  readonly solidDensity: number
  /** The film's own 10-90 % light rise, um. */
  readonly riseUm: number
  readonly inkSpreadUm: number
  /** Null when the solid does not reach the higher contour. */
  readonly fringeUm: number | null
  readonly edge: FilmEdge
}

export interface RandomFilm extends BedScan {
  readonly truth: FilmTruth
}

/**
 * A film with 4 to 10 solids (two or more with sides of 10 mm), and mostly some text, a tint, hair-lines, a register
 * mark and discs, lying somehow on a random scanner. The same seed gives the same film.
 */
export function randomFilm(seed: number, ranges: Partial<RandomFilmRanges> = {}): RandomFilm {
  const r = { ...RANDOM_FILM_RANGES, ...ranges }
  const random = seededRandom(seed)
  const from = (range: readonly [number, number]) => random.between(range[0], range[1])
  const edge: FilmEdge = {
    baseDensity: from(r.baseDensity),
    netDensity: from(r.netDensity),
    inkSpreadUm: from(r.inkSpreadUm),
  }
  const { shapes, widthMm, heightMm } = randomLayout(random)
  const grain = from(r.grain)
  const film: Film = {
    widthMm,
    heightMm,
    ...edge,
    shapes,
    ...(grain > 0 ? { grain: { rms: grain, correlationUm: random.between(60, 150) } } : {}),
  }
  const tilt = from(r.tiltDegrees) * (random.uniform() < 0.5 ? -1 : 1)
  const quarter = Math.floor(random.uniform() * 4) * 90
  const turn = ((quarter + tilt) * Math.PI) / 180
  const spanX = widthMm * Math.abs(Math.cos(turn)) + heightMm * Math.abs(Math.sin(turn))
  const spanY = widthMm * Math.abs(Math.sin(turn)) + heightMm * Math.abs(Math.cos(turn))
  const bedWidthMm = spanX + random.between(4, 8)
  const bedHeightMm = spanY + random.between(4, 8)
  const placement: Placement = {
    acrossMm: bedWidthMm / 2 + random.between(-1, 1),
    alongMm: bedHeightMm / 2 + random.between(-1, 1),
    turnDegrees: quarter + tilt,
    mirrored: random.pick(r.mirrored),
  }
  const signed = (range: readonly [number, number]) => from(range) * (random.uniform() < 0.5 ? -1 : 1)
  const scanner: DemoScanner = {
    maker: 'Tidewater',
    model: 'flatbed-r',
    dpi: random.pick(r.dpi),
    scaleErrorAcross: signed(r.scaleError),
    scaleErrorAlong: signed(r.scaleError),
    blurAcrossUm: from(r.blurUm),
    blurAlongUm: from(r.blurUm),
    black: from(r.black),
    gain: random.between(52_000, 62_000),
    gamma: from(r.gamma),
    veil: from(r.veil),
    readNoise: from(r.readNoise),
    shotNoise: from(r.shotNoise),
    flare: 0,
    flareReachMm: 10,
    shading: 0,
    lamp: 1,
  }
  return {
    scanner,
    bedWidthMm,
    bedHeightMm,
    film,
    placement,
    holder: null,
    seed: random.whole(),
    truth: {
      baseDensity: edge.baseDensity,
      solidDensity: edge.baseDensity + edge.netDensity,
      riseUm: filmRise(edge),
      inkSpreadUm: edge.inkSpreadUm,
      fringeUm: fringeWidth(edge, r.fringe.low, r.fringe.high),
      edge,
    },
  }
}

/** Cells of 14 x 14 mm, each with one thing in it, so that nothing overlaps; gaps wide enough for clear film between. */
function randomLayout(random: Random): { shapes: Shape[]; widthMm: number; heightMm: number } {
  const cell = 14
  const margin = 3
  const columns = random.pick([3, 4])
  const rows = random.pick([2, 3])
  const places = Array.from({ length: columns * rows }, (_, i) => i)
  for (let i = places.length - 1; i > 0; i--) {
    const j = Math.floor(random.uniform() * (i + 1))
    const kept = places[i]!
    places[i] = places[j]!
    places[j] = kept
  }
  const solids = Math.min(places.length - 2, 4 + Math.floor(random.uniform() * 5))
  const shapes: Shape[] = []
  places.forEach((place, i) => {
    const u = margin + (place % columns) * cell + 1
    const v = margin + Math.floor(place / columns) * cell + 1
    const room = cell - 2
    if (i < solids) {
      // The first two have sides of 10 mm or more; the rest 4 to 12 mm.
      const width = random.between(i < 2 ? 10 : 4, room)
      const height = random.between(i < 2 ? 10 : 4, room)
      shapes.push(solid(u + random.uniform() * (room - width), v + random.uniform() * (room - height), width, height))
      return
    }
    const kind = Math.floor(random.uniform() * 5)
    if (kind === 0) {
      const word = random.pick(['TEE', 'HAT', 'INK', 'MESH'])
      const height = Math.min(6, (room * 6) / textWidth(word, 6))
      shapes.push(...blockText(word, u, v, height), ...blockText('TIDE', u, v + height + 1, 2))
    } else if (kind === 1)
      shapes.push(...tint(u, v, room, room, random.between(35, 65), random.between(0, 90), random.between(0.1, 0.9)))
    else if (kind === 2) shapes.push(...hairLines(u, v, room, [0.1, 0.15, 0.2, 0.3, 0.5], 1))
    else if (kind === 3) shapes.push(...registerMark(u + room / 2, v + room / 2, 3, 0.1))
    else shapes.push({ kind: 'disc', u: u + room / 2, v: v + room / 2, radius: random.between(2, 6) })
  })
  return { shapes, widthMm: columns * cell + 2 * margin, heightMm: rows * cell + 2 * margin }
}
