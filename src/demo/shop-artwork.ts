import { blockText, frame, hairLines, registerMark, ring, solid, sunRays, textWidth, tint } from './artwork.js'
import type { Shape } from './film.js'

/** A separation ready to print: its size and its shapes. Invented for Tidewater Screenworks. */
export interface Artwork {
  readonly widthMm: number
  readonly heightMm: number
  readonly shapes: readonly Shape[]
}

const WIDTH = 82
const HEIGHT = 58

function sheet(shapes: readonly Shape[]): Artwork {
  const mark = 0.1
  return {
    widthMm: WIDTH,
    heightMm: HEIGHT,
    shapes: [
      ...shapes,
      ...registerMark(WIDTH / 2, 4.2, 1.5, mark),
      ...registerMark(WIDTH / 2, HEIGHT - 4.2, 1.5, mark),
      ...registerMark(4.2, HEIGHT / 2, 1.5, mark),
      ...registerMark(WIDTH - 4.2, HEIGHT / 2, 1.5, mark),
    ],
  }
}

function centred(text: string, v: number, height: number): Shape[] {
  return blockText(text, (WIDTH - textWidth(text, height)) / 2, v, height)
}

/** A shirt front: two lines of text, a sun, a tint, a bar and hair-lines. */
export function regattaFront(): Artwork {
  return sheet([
    ...centred('HARBOUR', 8.5, 9),
    solid(9, 20, 42, 10),
    ...centred('REGATTA', 40.2, 7),
    ...tint(9, 32, 14, 6.5, 55, 22.5, 0.4),
    ...hairLines(27, 32, 6.5, [0.1, 0.15, 0.2, 0.3, 0.5], 2),
    ...frame(39, 32, 12, 6.5, 0.8),
    ...sunRays(64, 29, 6.8, 9.2, 16, 0.8),
    { kind: 'disc', u: 64, v: 29, radius: 5.5 },
    ...centred('TIDEWATER SCREENWORKS', 48.6, 2),
  ])
}

/** A team number: two figures as tall as the sheet allows, and a name bar. */
export function teamNumber(digits: string): Artwork {
  const tall = 30
  const left = (WIDTH - textWidth(digits, tall)) / 2
  return sheet([
    ...blockText(digits, left, 9, tall),
    solid(10, 42, 62, 8),
    ...blockText('HERONS', 18, 52, 2.6),
    ...blockText('HOME', 63, 52, 2.6),
    ...hairLines(10, 52, 3, [0.15, 0.3, 0.5], 1.5),
  ])
}

/** A halftone label: six tints with a solid and a clear patch, rings, and small text. */
export function reefLabel(): Artwork {
  const tones = [0.1, 0.25, 0.4, 0.55, 0.75, 0.9]
  return sheet([
    ...tones.flatMap((tone, i) => tint(9 + i * 10.7, 9, 9.8, 9.8, 50, 22.5, tone)),
    solid(9, 22, 18, 14),
    solid(31, 22, 9, 14),
    ...ring(54, 29, 7, 2),
    { kind: 'disc', u: 54, v: 29, radius: 3 },
    ...frame(65, 22, 9, 14, 1.2),
    ...centred('REEF LABEL', 38.5, 7),
    ...centred('NO 5 - SAND AND SALT', 47.8, 2.4),
  ])
}

/** A plain badge: shield blocks, straight edges everywhere, and one word. */
export function pilotBadge(): Artwork {
  return sheet([
    solid(10, 9, 28, 22),
    solid(44, 9, 28, 10),
    solid(44, 21, 12, 10),
    solid(60, 21, 12, 10),
    ...centred('PILOT', 34, 10),
    ...tint(10, 46, 14, 7, 45, 22.5, 0.3),
    solid(26, 46, 12, 7),
    ...hairLines(46, 46, 7, [0.1, 0.2, 0.3, 0.5, 0.8], 2.5),
    ...frame(61, 46, 11, 7, 0.5),
  ])
}

/** Takes small round holes out of an artwork's first solid and drops specks on its clear film. */
export function withFlaws(
  art: Artwork,
  holes: readonly { readonly u: number; readonly v: number; readonly um: number }[],
  specks: readonly { readonly u: number; readonly v: number; readonly um: number; readonly ink?: number }[],
): Artwork {
  const disc = (place: { readonly u: number; readonly v: number; readonly um: number }, ink: number): Shape => ({
    kind: 'disc',
    u: place.u,
    v: place.v,
    radius: place.um / 2000,
    ink,
  })
  return {
    ...art,
    shapes: [
      ...art.shapes,
      ...holes.map(place => disc(place, -1)),
      ...specks.map(place => disc(place, place.ink ?? 1)),
    ],
  }
}
