import type { FilmForArtwork } from '../../src/artwork/align-artwork.js'
import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import { blockText, hairLines, registerMark, ring, solid, textWidth, tint } from '../../src/demo/artwork.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import type { BedScan, DemoScanner } from '../../src/demo/scanner.js'
import { dotsOf, separation } from '../../src/demo/separation.js'
import { filmInk } from '../../src/locate/film-ink.js'
import { filmTurns } from '../../src/locate/film-turns.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { openBedScan } from './calibrated-scanner.js'

/** A linear scanner without noise worth the name: its codes are light. */
export const LINEAR_SCANNER: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-a',
  dpi: 600,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 12,
  blurAlongUm: 12,
  black: 0,
  gain: 60_000,
  gamma: 1,
  veil: 0,
  readNoise: 15,
  shotNoise: 200,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}

export interface ArtworkFilm {
  readonly artwork: ArtworkBitmap
  readonly film: Film
  readonly scan: BedScan
  /** Film over artwork, less one. */
  readonly across: number
  readonly feed: number
  readonly turned: number
  readonly mirrored: boolean
}

export interface ArtworkFilmPlan {
  readonly seed: number
  readonly artworkDpi: { readonly across: number; readonly along: number }
  readonly scanDpi: number
  readonly turned?: number
  readonly mirrored?: boolean
  /** Largest size error either way, share. */
  readonly sizeError?: number
  readonly cells?: readonly [number, number]
  /** Changes the film's shapes after the artwork was drawn: what is missing on the film, and what was added. */
  readonly spoil?: (shapes: readonly Shape[], random: Random) => readonly Shape[]
  /** Only tints and hair-lines. */
  readonly only?: readonly number[]
  /** Room round the film on the glass, mm; negative: part of it lies outside. */
  readonly roomMm?: number
}

/** An artwork drawn at random on the printer's own pixels, and a film of it, each axis a little off in size. */
export function artworkFilm(plan: ArtworkFilmPlan): ArtworkFilm {
  const random = seededRandom(plan.seed)
  const [columns, rows] = plan.cells ?? [4, 3]
  const cell = 11
  const margin = 3
  const pixelX = 25.4 / plan.artworkDpi.across
  const pixelY = 25.4 / plan.artworkDpi.along
  const widthMm = Math.round((columns * cell + 2 * margin) / pixelX) * pixelX
  const heightMm = Math.round((rows * cell + 2 * margin) / pixelY) * pixelY
  const shapes = randomShapes(random, columns, rows, cell, margin, plan.only).map(shape =>
    onPixels(shape, pixelX, pixelY),
  )
  const artwork = separation({ widthMm, heightMm, shapes }, plan.artworkDpi)
  const error = plan.sizeError ?? 0.005
  const across = random.between(-error, error)
  const feed = random.between(-error, error)
  const onFilm = (plan.spoil?.(shapes, random) ?? shapes).flatMap(shape => stretched(shape, 1 + across, 1 + feed))
  const border = random.between(1, 4)
  const film: Film = {
    widthMm: widthMm * (1 + across) + 2 * border,
    heightMm: heightMm * (1 + feed) + 2 * border,
    baseDensity: random.between(0.04, 0.09),
    netDensity: random.between(2.2, 3.4),
    inkSpreadUm: random.between(8, 60),
    shapes: onFilm.map(shape => ({ ...shape, u: shape.u + border, v: shape.v + border })),
  }
  const turned = plan.turned ?? random.pick([0, 90, 180, 270]) + random.between(-5, 5)
  const mirrored = plan.mirrored ?? random.uniform() < 0.5
  const t = (turned * Math.PI) / 180
  const room = plan.roomMm ?? random.between(2, 5)
  const bedWidthMm = film.widthMm * Math.abs(Math.cos(t)) + film.heightMm * Math.abs(Math.sin(t)) + 2 * room
  const bedHeightMm = film.widthMm * Math.abs(Math.sin(t)) + film.heightMm * Math.abs(Math.cos(t)) + 2 * room
  const scan: BedScan = {
    scanner: { ...LINEAR_SCANNER, dpi: plan.scanDpi },
    bedWidthMm,
    bedHeightMm,
    film,
    placement: {
      acrossMm: bedWidthMm / 2 + random.between(-1, 1),
      alongMm: bedHeightMm / 2 + random.between(-1, 1),
      turnDegrees: turned,
      mirrored,
    },
    holder: null,
    seed: random.whole(),
  }
  return { artwork, film, scan, across, feed, turned, mirrored }
}

function randomShapes(
  random: Random,
  columns: number,
  rows: number,
  cell: number,
  margin: number,
  only: readonly number[] | undefined,
): Shape[] {
  const shapes: Shape[] = []
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const u = margin + c * cell + 0.8
      const v = margin + r * cell + 0.8
      const room = cell - 1.6
      const kind = only === undefined ? Math.floor(random.uniform() * 7) : random.pick(only)
      if (kind === 0) {
        const width = random.between(3, room)
        const height = random.between(3, room)
        shapes.push(solid(u + random.uniform() * (room - width), v + random.uniform() * (room - height), width, height))
      } else if (kind === 1) {
        const word = random.pick(['TEE', 'HAT', 'INK', 'MESH'])
        const height = Math.min(5, (room * 5) / textWidth(word, 5))
        shapes.push(...blockText(word, u, v, height), ...blockText('TIDE', u, v + height + 1, 2))
      } else if (kind === 2)
        shapes.push(
          ...tint(u, v, room, room, random.between(35, 65), random.between(0, 90), random.between(0.15, 0.85)),
        )
      else if (kind === 3) shapes.push(...hairLines(u, v, room, [0.15, 0.25, 0.4, 0.6], 1.2))
      else if (kind === 4) shapes.push(...registerMark(u + room / 2, v + room / 2, 2.5, 0.15))
      else if (kind === 5)
        shapes.push(...ring(u + room / 2, v + room / 2, random.between(2, 4.5), random.between(0.6, 1.5)))
      else
        for (let k = 0; k < 4; k++)
          shapes.push(solid(u, v + k * 2.3, random.between(2, room), random.between(0.4, 1.4)))
    }
  return shapes
}

/** Sides on the printer's pixels, as all that a printer prints. */
function onPixels(shape: Shape, pixelX: number, pixelY: number): Shape {
  if (shape.kind !== 'rectangle' || (shape.turn ?? 0) !== 0) return shape
  const u = Math.round(shape.u / pixelX) * pixelX
  const v = Math.round(shape.v / pixelY) * pixelY
  return {
    ...shape,
    u,
    v,
    width: Math.max(1, Math.round((shape.u + shape.width) / pixelX) - Math.round(shape.u / pixelX)) * pixelX,
    height: Math.max(1, Math.round((shape.v + shape.height) / pixelY) - Math.round(shape.v / pixelY)) * pixelY,
  }
}

/** The shape as a printer whose axes are off would print it: exact for upright rectangles, places for all others. */
function stretched(shape: Shape, x: number, y: number): Shape[] {
  const mean = Math.sqrt(x * y)
  if (shape.kind === 'rectangle') {
    if ((shape.turn ?? 0) === 0)
      return [{ ...shape, u: shape.u * x, v: shape.v * y, width: shape.width * x, height: shape.height * y }]
    const cu = (shape.u + shape.width / 2) * x
    const cv = (shape.v + shape.height / 2) * y
    return [
      {
        ...shape,
        u: cu - (shape.width * mean) / 2,
        v: cv - (shape.height * mean) / 2,
        width: shape.width * mean,
        height: shape.height * mean,
      },
    ]
  }
  if (shape.kind === 'disc') return [{ ...shape, u: shape.u * x, v: shape.v * y, radius: shape.radius * mean }]
  // Dot by dot: a screen stretched as one would keep its angles.
  return dotsOf(shape).map(
    ([u, v]): Shape => ({ kind: 'disc', u: u * x, v: v * y, radius: shape.radius * mean, ink: shape.ink ?? 1 }),
  )
}

/** The film scanned and looked over, ready to have an artwork laid on it. */
export function filmForArtwork(bed: BedScan): FilmForArtwork {
  const um = 25_400 / bed.scanner.dpi
  const located = locateScan({
    scan: openBedScan(bed),
    light: unknownLightScale(bed.scanner.gain),
    umPerPixel: { across: um, along: um },
  })
  return {
    scan: located.scan,
    ...filmInk(located),
    clear: located.regions.base ?? 1,
    turns: filmTurns(located),
  }
}
