import { solid } from '../../src/demo/artwork.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { type InkField, inkField } from '../../src/demo/ink-field.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import { type BedScan, filmToPixel } from '../../src/demo/scanner.js'
import type { FlawKind } from '../../src/model/flaw.js'
import type { PixelPoint } from '../../src/model/geometry.js'
import { layout } from './flawed-film.js'
import { randomFlatbed } from './random-flatbed.js'

/** A hair, scratch, lost nozzle line or thin area that was put on a make-believe film. All sizes from the film's own light, before any scanner. */
export interface TrueLine {
  readonly kind: FlawKind
  /** Along it, scan pixels: where it shows only (a lost nozzle where there is ink). A thin area: its centre alone. */
  readonly path: readonly PixelPoint[]
  /** From its first to its last place that shows, mm (of a hair along its bends); null of a thin area. */
  readonly lengthMm: number | null
  /** Mean open (of a hair covered) width where it shows, um; null of a thin area. */
  readonly widthUm: number | null
  /** Area of clear film that would pass as much, mm2. */
  readonly leakedMm2: number
  /** Of a thin area: how much less dense at its middle, D, and its diameter where half of that is left, mm. */
  readonly thinner?: number
  readonly acrossMm?: number
}

export interface LinedFilm {
  readonly scan: BedScan
  readonly flaws: readonly TrueLine[]
  readonly netDensity: number
}

export interface LinedFilmPlan {
  readonly dpi: number
  readonly scratches: number
  readonly hairs: number
  readonly nozzles: number
  readonly thinSpots: number
  /** Height of the film, mm; its width is 66. */
  readonly heightMm?: number
  readonly inkSpreadUm?: readonly [number, number]
}

const MARGIN = 4
const SOLID_WIDE = 22
const CLEAR_WIDE = 12
/** Points on a path are this near, mm. */
const STEP = 0.05
/** Flaws keep so far from each other and from edges, mm. */
const APART = 1.2

interface Drawn {
  readonly kind: FlawKind
  readonly shapes: readonly Shape[]
  readonly path: readonly { readonly u: number; readonly v: number }[]
  readonly acrossMm?: number
}

/**
 * A film with solids and clear film wide enough for long flaws beside type, tints, hair-lines and marks, and on it hairs of 12 to 120 um, straight and
 * bent scratches of 8 to 150 um cut through the ink or into it, lines of lost nozzles of 18 to 70 um along the feed and thin areas of 0.6 to 5 mm, lying
 * somehow on a scanner drawn at random. The same seed gives the same film.
 */
export function linedFilm(seed: number, plan: LinedFilmPlan): LinedFilm {
  const random = seededRandom(seed)
  const heightMm = plan.heightMm ?? 46
  const ground = layout(random, 32, heightMm)
  const top = MARGIN
  const high = heightMm - 2 * MARGIN
  const solidU = 32
  const clearU = solidU + SOLID_WIDE + 1
  const widthMm = clearU + CLEAR_WIDE + MARGIN
  const plain: Film = {
    widthMm,
    heightMm,
    baseDensity: random.between(0.03, 0.25),
    netDensity: random.between(1.8, 3.6),
    inkSpreadUm: random.between(...(plan.inkSpreadUm ?? [4, 22])),
    // Two solids, so that a lost nozzle's line crosses from one into the other.
    shapes: [
      ...ground.shapes,
      solid(solidU, top, SOLID_WIDE, high * 0.6),
      solid(solidU, top + high * 0.6 + 2, SOLID_WIDE, high * 0.4 - 2),
    ],
  }
  const solids = [
    { u: solidU, v: top, width: SOLID_WIDE, height: high * 0.6 },
    { u: solidU, v: top + high * 0.6 + 2, width: SOLID_WIDE, height: high * 0.4 - 2 },
  ]
  const clear = { u: clearU, v: top, width: CLEAR_WIDE, height: high }
  const drawn: Drawn[] = []
  const free = (path: Drawn['path'], apart: number) =>
    drawn.every(other => {
      const far = apart + 0.65 * (other.acrossMm ?? 0)
      return other.path.every(p => path.every(q => Math.hypot(p.u - q.u, p.v - q.v) >= far))
    })

  // A line of the artwork that lies along the feed as well is none to tell a lost nozzle's from: solids only.
  const squares = ground.solids
    .filter(s => s.width >= 6)
    .map(s => ({ ...s, from: s.v - 0.6, to: s.v + s.height + 0.6 }))
  const wide = { u: solidU, width: SOLID_WIDE, from: 0, to: heightMm }
  for (let k = 0; k < plan.nozzles; k++)
    for (let tries = 0; tries < 40; tries++) {
      const room = random.uniform() < 0.7 || squares.length === 0 ? wide : random.pick(squares)
      const u = room.u + random.between(1, room.width - 1)
      const width = random.between(0.018, 0.07)
      const path = pathOf({ u, v: room.from }, { u, v: room.to })
      if (!free(path, 2 * APART)) continue
      drawn.push({
        kind: 'missingNozzle',
        path,
        shapes: [{ kind: 'rectangle', u: u - width / 2, v: room.from, width, height: room.to - room.from, ink: -1 }],
      })
      break
    }
  for (let k = 0; k < plan.thinSpots; k++)
    for (let tries = 0; tries < 40; tries++) {
      const room = random.pick(solids)
      const acrossMm = 0.6 * (5 / 0.6) ** random.uniform()
      const off = 0.65 * acrossMm + 0.5
      if (Math.min(room.width, room.height) < 2.2 * off) continue
      const u = room.u + random.between(off, room.width - off)
      const v = room.v + random.between(off, room.height - off)
      if (!free([{ u, v }], 0.65 * acrossMm + APART)) continue
      // 0.1 to 1.2 D less at the middle, falling off in three rings.
      const less = random.between(0.1, 1.2) / plain.netDensity
      drawn.push({
        kind: 'thinSpot',
        path: [{ u, v }],
        acrossMm,
        shapes: [0.35, 0.5, 0.65].map(r => ({ kind: 'disc', u, v, radius: r * acrossMm, ink: -less / 3 })),
      })
      break
    }
  for (let k = 0; k < plan.scratches; k++)
    for (let tries = 0; tries < 60; tries++) {
      const room = random.pick(solids)
      const width = 0.008 * (150 / 8) ** random.uniform()
      const long = 0.6 * (14 / 0.6) ** random.uniform()
      const bend = random.uniform() < 0.5 ? 0 : random.normal() * 0.15
      const ink = random.uniform() < 0.75 ? -1 : -random.between(0.4, 0.9)
      const quarter = 90 * Math.floor(random.uniform() * 4)
      const path = bentPath(random, room, long, quarter + random.between(4, 86), bend)
      if (path === null || !free(path, APART)) continue
      drawn.push({ kind: 'scratch', path, shapes: strokes(path, width, ink) })
      break
    }
  for (let k = 0; k < plan.hairs; k++)
    for (let tries = 0; tries < 60; tries++) {
      const width = 0.012 * 10 ** random.uniform()
      const long = 0.6 * (10 / 0.6) ** random.uniform()
      // Not so curled that it lies on itself.
      const bend = Math.min(5 / long, 0.25 + Math.abs(random.normal()) * 0.4) * (random.uniform() < 0.5 ? -1 : 1)
      const path = bentPath(random, clear, long, random.between(0, 360), bend)
      if (path === null || !free(path, APART)) continue
      // Lint lets light through: 0.4 to 2 D where it is whole.
      const ink = Math.min(1, random.between(0.4, 2) / plain.netDensity)
      drawn.push({ kind: 'hair', path, shapes: strokes(path, width, ink) })
      break
    }

  const film: Film = { ...plain, shapes: [...plain.shapes, ...drawn.flatMap(d => d.shapes)] }
  const scan = laid(random, film, plan.dpi)
  const without = inkField(plain, 0.01, 0, 1)
  const withAll = inkField(film, 0.01, 0, 1)
  return {
    scan,
    netDensity: film.netDensity,
    flaws: drawn.map(one => truthOf(one, film, without, withAll, scan)),
  }
}

function laid(random: Random, film: Film, dpi: number): BedScan {
  const tilt = random.between(0.1, 10) * (random.uniform() < 0.5 ? -1 : 1)
  const quarter = Math.floor(random.uniform() * 4) * 90
  const turn = ((quarter + tilt) * Math.PI) / 180
  const wide = film.widthMm * Math.abs(Math.cos(turn)) + film.heightMm * Math.abs(Math.sin(turn))
  const high = film.widthMm * Math.abs(Math.sin(turn)) + film.heightMm * Math.abs(Math.cos(turn))
  const blur = (random.between(0.35, 1.1) * 25_400) / dpi
  return {
    scanner: {
      ...randomFlatbed(random, dpi),
      gamma: random.pick([1, 2]),
      blurAcrossUm: blur,
      blurAlongUm: blur * random.between(0.85, 1.15),
    },
    bedWidthMm: wide + random.between(4, 8),
    bedHeightMm: high + random.between(4, 8),
    film,
    placement: {
      acrossMm: wide / 2 + 2.5,
      alongMm: high / 2 + 2.5,
      turnDegrees: quarter + tilt,
      mirrored: random.uniform() < 0.5,
    },
    holder: random.uniform() < 0.3 ? { side: random.pick(['left', 'right', 'top', 'bottom']), widthMm: 1.2 } : null,
    seed: random.whole(),
  }
}

function pathOf(from: { u: number; v: number }, to: { u: number; v: number }): { u: number; v: number }[] {
  const steps = Math.ceil(Math.hypot(to.u - from.u, to.v - from.v) / STEP)
  return Array.from({ length: steps + 1 }, (_, k) => ({
    u: from.u + ((to.u - from.u) * k) / steps,
    v: from.v + ((to.v - from.v) * k) / steps,
  }))
}

/** A path of a length that begins one way and turns evenly, by so many radians a millimetre, wholly inside a room; null when it leaves it. */
function bentPath(
  random: Random,
  room: { u: number; v: number; width: number; height: number },
  long: number,
  degrees: number,
  bend: number,
): { u: number; v: number }[] | null {
  let u = room.u + random.between(APART, room.width - APART)
  let v = room.v + random.between(APART, room.height - APART)
  let way = (degrees * Math.PI) / 180
  const path = [{ u, v }]
  for (let s = 0; s < long; s += STEP) {
    u += STEP * Math.cos(way)
    v += STEP * Math.sin(way)
    way += STEP * bend
    if (u < room.u + APART || v < room.v + APART || u > room.u + room.width - APART || v > room.v + room.height - APART)
      return null
    path.push({ u, v })
  }
  return path
}

/** Rectangles end to end along a path; where it is straight one. */
function strokes(path: readonly { u: number; v: number }[], width: number, ink: number): Shape[] {
  const shapes: Shape[] = []
  let from = 0
  for (let to = 1; to < path.length; to++) {
    const a = path[from]!
    const b = path[to]!
    const next = path[to + 1]
    const way = Math.atan2(b.v - a.v, b.u - a.u)
    // A new piece every 0.2 mm of a bend, and at the end.
    const turned = next === undefined ? 1 : Math.abs(Math.sin(Math.atan2(next.v - b.v, next.u - b.u) - way))
    if (next !== undefined && turned < 0.02) continue
    const long = Math.hypot(b.u - a.u, b.v - a.v)
    shapes.push({
      kind: 'rectangle',
      u: (a.u + b.u) / 2 - long / 2,
      v: (a.v + b.v) / 2 - width / 2,
      width: long,
      height: width,
      turn: (way * 180) / Math.PI,
      ink,
    })
    from = to
  }
  return shapes
}

function truthOf(one: Drawn, film: Film, without: InkField, withAll: InkField, scan: BedScan): TrueLine {
  const clear = 10 ** -film.baseDensity
  const full = 10 ** -(film.baseDensity + film.netDensity)
  const change = (u: number, v: number, du: number, dv: number, count: number): number => {
    const at = { u, v, reachU: Math.abs(du) * count, reachV: Math.abs(dv) * count }
    const before = new Float64Array(count)
    const after = new Float64Array(count)
    without.piece(at).fill(before, 0, count, u, v, du, dv)
    withAll.piece(at).fill(after, 0, count, u, v, du, dv)
    let sum = 0
    for (let i = 0; i < count; i++) sum += Math.abs(after[i]! - before[i]!)
    return (sum / (clear - full)) * Math.hypot(du, dv)
  }
  if (one.kind === 'thinSpot') {
    const { u, v } = one.path[0]!
    const reach = 0.7 * one.acrossMm! + 0.1
    const count = 120
    const step = (2 * reach) / count
    let leakedMm2 = 0
    for (let r = 0; r < count; r++) leakedMm2 += step * change(u - reach, v - reach + (r + 0.5) * step, step, 0, count)
    const middle = new Float64Array(1)
    withAll.piece({ u, v, reachU: 0.01, reachV: 0.01 }).fill(middle, 0, 1, u, v, 0, 0)
    return {
      kind: one.kind,
      path: [filmToPixel(scan, u, v)],
      lengthMm: null,
      widthUm: null,
      leakedMm2,
      thinner: Math.log10(middle[0]! / full),
      acrossMm: one.acrossMm!,
    }
  }
  const half = 0.2
  const fine = 0.002
  const widths = one.path.map((p, k) => {
    const a = one.path[Math.max(0, k - 1)]!
    const b = one.path[Math.min(one.path.length - 1, k + 1)]!
    const long = Math.hypot(b.u - a.u, b.v - a.v)
    const du = (-(b.v - a.v) / long) * fine
    const dv = ((b.u - a.u) / long) * fine
    const count = Math.round((2 * half) / fine)
    return change(p.u - (du * count) / 2, p.v - (dv * count) / 2, du, dv, count)
  })
  // Ink that creeps closes a line where there is much of it: at the rim of a solid it stands far wider open than inside.
  const told = widths.filter(w => w > 0).sort((a, b) => a - b)
  const usual = told[Math.floor(told.length / 2)] ?? 0
  const shows = widths.map(w => w >= 0.3 * usual)
  const first = shows.indexOf(true)
  const last = shows.lastIndexOf(true)
  const seen = widths.filter((_, k) => shows[k])
  const mean = seen.reduce((a, b) => a + b, 0) / seen.length
  return {
    kind: one.kind,
    path: one.path.filter((_, k) => shows[k]).map(p => filmToPixel(scan, p.u, p.v)),
    lengthMm: (last - first) * STEP,
    widthUm: 1000 * mean,
    leakedMm2: mean * seen.length * STEP,
  }
}
