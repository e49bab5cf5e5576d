import { blockText, hairLines, registerMark, solid, textWidth, tint } from '../../src/demo/artwork.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { inkField } from '../../src/demo/ink-field.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import type { BedScan } from '../../src/demo/scanner.js'
import { filmToPixel } from '../../src/demo/scanner.js'
import type { FlawKind } from '../../src/model/flaw.js'
import type { PixelPoint } from '../../src/model/geometry.js'
import { randomFlatbed } from './random-flatbed.js'

/** A flaw that was put on a make-believe film, and what is true of it. */
export interface TrueFlaw {
  readonly kind: FlawKind
  readonly place: PixelPoint
  /** Equivalent diameter of its open or covered area, um: from the film's own light, before any scanner. */
  readonly diameterUm: number
  readonly lengthMm: number | null
}

export interface FlawedFilm {
  readonly scan: BedScan
  readonly flaws: readonly TrueFlaw[]
}

export interface FlawedFilmPlan {
  readonly dpi: number
  /** Spots of each kind and lines of each kind; 0 for a clean film. */
  readonly pinholes: number
  readonly specks: number
  readonly scratches: number
  readonly hairs?: number
  /** Diameters drawn, pixels. */
  readonly sizePx: readonly [number, number]
  readonly widthMm?: number
  readonly heightMm?: number
  readonly inkSpreadUm?: readonly [number, number]
}

type Room = { u: number; v: number; width: number; height: number }

/**
 * A film full of what is no flaw (solids, type of many sizes with counters, tints of 35 to 65 lines/in and 3 to 97 %, hair-lines dark and
 * reversed, register marks, dots) and flaws among it, lying somehow on a scanner drawn at random. The same seed gives the same film.
 */
export function flawedFilm(seed: number, plan: FlawedFilmPlan): FlawedFilm {
  const random = seededRandom(seed)
  const um = 25_400 / plan.dpi
  const widthMm = plan.widthMm ?? 62
  const heightMm = plan.heightMm ?? 48
  const edge = {
    baseDensity: random.between(0.03, 0.1),
    netDensity: random.between(1.8, 3.6),
    inkSpreadUm: random.between(...(plan.inkSpreadUm ?? [4, 12])),
  }
  const { shapes, solids, clears } = layout(random, widthMm, heightMm)
  const drawn: { kind: FlawKind; shapes: Shape[]; u: number; v: number; lengthMm: number | null }[] = []
  const spot = (kind: 'pinhole' | 'speck', rooms: readonly Room[]) => {
    for (let tries = 0; tries < 50; tries++) {
      const room = random.pick(rooms)
      const radius = (random.between(...plan.sizePx) * um) / 2000
      // Clear of the edge by its own radius and three pixels: nearer, it is a notch of the edge.
      const off = radius * 2 + (3 * um) / 1000
      if (room.width < 2.2 * off || room.height < 2.2 * off) continue
      const u = room.u + random.between(off, room.width - off)
      const v = room.v + random.between(off, room.height - off)
      if (drawn.some(d => d.lengthMm === null && Math.hypot(d.u - u, d.v - v) < 1.5)) continue
      drawn.push({
        kind,
        shapes: [{ kind: 'disc', u, v, radius, ink: kind === 'pinhole' ? -1 : 1 }],
        u,
        v,
        lengthMm: null,
      })
      return
    }
  }
  for (let i = 0; i < plan.scratches; i++) {
    const room = random.pick(solids.filter(s => Math.min(s.width, s.height) >= 6))
    const lengthMm = random.between(2, 5)
    const width = random.between(0.02, 0.06)
    const u = room.u + room.width / 2 + random.between(-1, 1)
    const v = room.v + room.height / 2 + random.between(-1, 1)
    const turn = random.between(8, 82) + 90 * Math.floor(random.uniform() * 2)
    if (drawn.some(d => Math.hypot(d.u - u, d.v - v) < 7)) continue
    drawn.push({
      kind: 'scratch',
      shapes: [
        { kind: 'rectangle', u: u - lengthMm / 2, v: v - width / 2, width: lengthMm, height: width, turn, ink: -1 },
      ],
      u,
      v,
      lengthMm,
    })
  }
  const scratched = (u: number, v: number) =>
    drawn.some(d => d.lengthMm !== null && Math.hypot(d.u - u, d.v - v) < d.lengthMm / 2 + 0.6)
  for (let i = 0; i < plan.pinholes; i++) {
    spot('pinhole', solids)
    const last = drawn.at(-1)
    if (last?.kind === 'pinhole' && drawn.some(d => d.kind === 'scratch') && scratched(last.u, last.v)) drawn.pop()
  }
  for (let i = 0; i < plan.specks; i++) spot('speck', clears)

  const film: Film = { widthMm, heightMm, ...edge, shapes: [...shapes, ...drawn.flatMap(d => d.shapes)] }
  const tilt = random.between(0.1, 10) * (random.uniform() < 0.5 ? -1 : 1)
  const quarter = Math.floor(random.uniform() * 4) * 90
  const turn = ((quarter + tilt) * Math.PI) / 180
  const bedWidthMm = widthMm * Math.abs(Math.cos(turn)) + heightMm * Math.abs(Math.sin(turn)) + random.between(4, 8)
  const bedHeightMm = widthMm * Math.abs(Math.sin(turn)) + heightMm * Math.abs(Math.cos(turn)) + random.between(4, 8)
  const scanner = randomFlatbed(random, plan.dpi)
  const scan: BedScan = {
    scanner,
    bedWidthMm,
    bedHeightMm,
    film,
    placement: {
      acrossMm: bedWidthMm / 2 + random.between(-1, 1),
      alongMm: bedHeightMm / 2 + random.between(-1, 1),
      turnDegrees: quarter + tilt,
      mirrored: random.uniform() < 0.5,
    },
    holder: random.uniform() < 0.4 ? { side: random.pick(['left', 'right', 'top', 'bottom']), widthMm: 1.5 } : null,
    seed: random.whole(),
  }
  return {
    scan,
    flaws: drawn.map(({ kind, u, v, lengthMm, shapes: [shape] }) => ({
      kind,
      place: filmToPixel(scan, u, v),
      diameterUm: 2000 * Math.sqrt(openArea(film, kind === 'speck', shape!, u, v) / Math.PI),
      lengthMm,
    })),
  }
}

/** Open (or covered) area of one shape by itself in a wide solid (or in clear film), mm2, by sums of the film's light on a fine grid. */
export function openArea(film: Film, dark: boolean, shape: Shape, u: number, v: number): number {
  const half = (shape.kind === 'rectangle' ? shape.width / 2 : shape.kind === 'disc' ? shape.radius : 0) + 0.1
  const alone: Film = { ...film, shapes: [...(dark ? [] : [solid(u - 20, v - 20, 40, 40)]), shape] }
  const step = Math.min(0.002, half / 40)
  const field = inkField(alone, step, 0, 1)
  const clear = 10 ** -film.baseDensity
  const full = 10 ** -(film.baseDensity + film.netDensity)
  const count = Math.ceil((2 * half) / step)
  const line = new Float64Array(count)
  const piece = field.piece({ u, v, reachU: half, reachV: half })
  let sum = 0
  for (let r = 0; r < count; r++) {
    piece.fill(line, 0, count, u - half, v - half + (r + 0.5) * step, step, 0)
    for (const light of line) sum += (dark ? clear - light : light - full) / (clear - full)
  }
  return sum * step * step
}

/** Cells with one thing in each; which of it is solid and which clear, for flaws to lie in. */
export function layout(random: Random, widthMm: number, heightMm: number) {
  const cell = 12
  const margin = 3
  const columns = Math.floor((widthMm - 2 * margin) / cell)
  const rows = Math.floor((heightMm - 2 * margin) / cell)
  const shapes: Shape[] = []
  const solids: Room[] = []
  const clears: Room[] = []
  const kinds = [
    'solid',
    'solid',
    'clear',
    'type',
    'smallType',
    'tint',
    'lines',
    'reversed',
    'mark',
    'strokes',
  ] as const
  for (let i = 0; i < columns * rows; i++) {
    const u = margin + (i % columns) * cell + 1
    const v = margin + Math.floor(i / columns) * cell + 1
    const room = cell - 2
    const kind = i < 3 ? kinds[i]! : random.pick(kinds)
    if (kind === 'solid') {
      shapes.push(solid(u, v, room, room))
      solids.push({ u, v, width: room, height: room })
    } else if (kind === 'clear') clears.push({ u: u - 0.5, v: v - 0.5, width: room + 1, height: room + 1 })
    else if (kind === 'type') {
      const word = random.pick(['TEE', 'HAT', 'INK', 'MESH', 'BOARD', '8604', 'KAYAK', 'WAVE'])
      const height = Math.min(4.5, (room * 4.5) / textWidth(word, 4.5))
      shapes.push(...blockText(word, u, v, height), ...blockText('TIDE 90', u, v + height + 1, 1.5))
      // A full stop beside it, and the dots of an i.
      const stop = 0.2 * 1.5
      shapes.push(solid(u + textWidth('TIDE 90', 1.5) + 0.2, v + height + 1 + 1.5 - stop, stop, stop))
    } else if (kind === 'smallType')
      for (let line = 0; line < 5; line++) {
        const height = random.pick([0.8, 1, 1.2])
        const word = random.pick(['SPRAY HARBOR', 'ANVIL 68', 'BOARD ROAD', 'ODD GREEN'])
        const fits = Math.min(height, (room * height) / textWidth(word, height))
        shapes.push(...blockText(word, u, v + line * 2, fits))
        shapes.push({
          kind: 'disc',
          u: u + textWidth(word, fits) + 0.25 * fits,
          v: v + line * 2 + 0.9 * fits,
          radius: 0.09 * fits,
        })
      }
    else if (kind === 'tint') {
      const tone = random.pick([0.03, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95])
      shapes.push(...tint(u, v, room, room, random.between(35, 65), random.between(0, 90), tone))
    } else if (kind === 'lines') shapes.push(...hairLines(u, v, room, [0.05, 0.1, 0.15, 0.2, 0.3, 0.5], 0.8))
    else if (kind === 'reversed') {
      shapes.push(solid(u, v, room, room))
      for (const [k, width] of [0.06, 0.1, 0.15, 0.2, 0.3].entries())
        shapes.push({ kind: 'rectangle', u: u + 1 + k * 1.8, v: v + 1, width, height: room - 2, ink: -1 })
    } else if (kind === 'mark') shapes.push(...registerMark(u + room / 2, v + room / 2, 3, random.between(0.08, 0.15)))
    else
      for (let k = 0; k < 4; k++) {
        const wide = [0.4, 0.6, 1, 1.5][k]!
        const at = u + [0, 2, 4.5, 7.5][k]!
        shapes.push(solid(at, v, wide, room))
        solids.push({ u: at, v, width: wide, height: room })
      }
  }
  return { shapes, solids, clears }
}
