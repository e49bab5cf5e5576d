import sharp from 'sharp'
import { hairLines, registerMark, solid } from '../../src/demo/artwork.js'
import type { Disc, Film, Shape } from '../../src/demo/film.js'
import { inkField } from '../../src/demo/ink-field.js'
import type { PrintedRaster } from '../../src/demo/printed-raster.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import { type BedScan, filmToPixel, meanCode, scanLight, scanSize } from '../../src/demo/scanner.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { MM_PER_INCH } from '../../src/model/geometry.js'
import type { OpenScan } from '../../src/model/scan.js'
import { openArea, type TrueFlaw } from './flawed-film.js'
import { cellSvg, PAGE_KINDS, type PageKind } from './hard-cells.js'
import { memoryScan } from './memory-scan.js'
import { randomFlatbed } from './random-flatbed.js'

/** What a cell of a hard film holds: each is something that is no flaw. */
export const HARD_KINDS = [
  'type',
  'smallType',
  'reversedType',
  'evenRow',
  'leaders',
  'gradient',
  'coarse',
  'stochastic',
  'matrix',
  'bars',
  'marks',
  'hatch',
  'curves',
  'solid',
  'tint',
  'lines',
  'stars',
] as const
export type HardKind = (typeof HARD_KINDS)[number] | PageKind

/** Screens, where flaws are not looked for. */
const SCREENED: readonly (HardKind | 'margin' | 'outside')[] = ['gradient', 'coarse', 'stochastic', 'tint', 'outside']

export interface HardFilm {
  readonly bed: BedScan
  readonly scan: OpenScan
  /** What lies at a place of the scan: the kind of its cell, `margin` or `outside`. */
  kindAt(column: number, row: number): HardKind | 'margin' | 'outside'
  /** Pinholes and specks that were put on it, and whether nothing is drawn within a millimetre of one. */
  readonly flaws: readonly (TrueFlaw & { readonly alone: boolean })[]
}

export interface HardFilmPlan {
  readonly dpi: number
  readonly widthMm: number
  readonly heightMm: number
  readonly kinds?: readonly HardKind[]
  /** Dust on the bare glass, a crooked cut and a dark cut edge. */
  readonly rough?: boolean
  readonly cellMm?: number
  /** Pinholes and specks, of each so many, wherever there is room for one in ink or clear film, and their diameters, pixels. */
  readonly spots?: { readonly each: number; readonly sizePx: readonly [number, number] }
}

/** The printer's own resolution. */
const PRINTER = 1440

/**
 * A clean film of hard things, lying somehow on a scanner drawn at random: type in real fonts, letters evenly set, leader dots, gradients of coarse dots, stochastic
 * screens, module codes, bars, hatches, drawn curves. Fonts are the machine's own: by hand, not in tests. The same seed gives the same film where the fonts are the same.
 */
export async function hardFilm(seed: number, plan: HardFilmPlan): Promise<HardFilm> {
  const random = seededRandom(seed)
  const cell = plan.cellMm ?? 14
  const margin = 4
  const columns = Math.floor((plan.widthMm - 2 * margin) / cell)
  const rows = Math.floor((plan.heightMm - 2 * margin) / cell)
  const shapes: Shape[] = []
  const printed: PrintedRaster[] = []
  const kinds: HardKind[] = []
  for (let i = 0; i < columns * rows; i++) {
    const u = margin + (i % columns) * cell + 1
    const v = margin + Math.floor(i / columns) * cell + 1
    const room = cell - 2
    const kind = i === 0 ? 'solid' : random.pick(plan.kinds ?? HARD_KINDS)
    kinds.push(kind)
    if (kind === 'solid') shapes.push(solid(u, v, room, room))
    else if (kind === 'lines') shapes.push(...hairLines(u, v, room, [0.05, 0.08, 0.1, 0.15, 0.2, 0.3], 0.9))
    else if (kind === 'marks') {
      shapes.push(...registerMark(u + room / 2, v + room / 2, 2.5, random.between(0.08, 0.2)))
      // Crop marks: hair-lines that meet at no corner.
      for (const [a, b] of [
        [0, 0],
        [room, 0],
        [0, room],
        [room, room],
      ] as const) {
        const w = random.pick([0.06, 0.09, 0.15])
        shapes.push(solid(u + a - w / 2, v + (b === 0 ? 0 : b - 3), w, 2.5))
        shapes.push(solid(u + (a === 0 ? 0.4 : a - 3), v + b - w / 2, 2.5, w))
      }
    } else printed.push({ u, v, raster: await raster(random, kind, room) })
  }
  const clean: Film = {
    widthMm: plan.widthMm,
    heightMm: plan.heightMm,
    baseDensity: random.between(0.03, 0.1),
    netDensity: random.between(1.8, 3.6),
    inkSpreadUm: random.between(8, 22),
    shapes,
    printed,
  }
  const cellAt = (u: number, v: number): HardKind | 'margin' | 'outside' => {
    if (u < 0 || v < 0 || u > plan.widthMm || v > plan.heightMm) return 'outside'
    const c = Math.floor((u - margin) / cell)
    const r = Math.floor((v - margin) / cell)
    return c < 0 || r < 0 || c >= columns || r >= rows ? 'margin' : kinds[r * columns + c]!
  }
  const spots = plan.spots === undefined ? [] : strewn(random, clean, plan, (u, v) => SCREENED.includes(cellAt(u, v)))
  const film: Film = { ...clean, shapes: [...shapes, ...spots] }
  const tilt = random.between(0.1, 6) * (random.uniform() < 0.5 ? -1 : 1)
  const quarter = Math.floor(random.uniform() * 4) * 90
  const turn = ((quarter + tilt) * Math.PI) / 180
  const wide = film.widthMm * Math.abs(Math.cos(turn)) + film.heightMm * Math.abs(Math.sin(turn))
  const high = film.widthMm * Math.abs(Math.sin(turn)) + film.heightMm * Math.abs(Math.cos(turn))
  const scanner = randomFlatbed(random, plan.dpi)
  const bed: BedScan = {
    scanner,
    bedWidthMm: wide + random.between(5, 9),
    bedHeightMm: high + random.between(5, 9),
    film,
    placement: {
      acrossMm: wide / 2 + 3,
      alongMm: high / 2 + 3,
      turnDegrees: quarter + tilt,
      mirrored: random.uniform() < 0.5,
    },
    holder: random.uniform() < 0.4 ? { side: random.pick(['left', 'right', 'top', 'bottom']), widthMm: 2 } : null,
    seed: random.whole(),
  }
  const place = placeOnFilm(bed)
  const kindAt = (column: number, row: number): HardKind | 'margin' | 'outside' => {
    const { u, v } = place(column, row)
    return cellAt(u, v)
  }
  const flaws = spots.map(spot => {
    const dark = spot.ink === 1
    return {
      alone: spot.alone,
      kind: dark ? ('speck' as const) : ('pinhole' as const),
      place: filmToPixel(bed, spot.u, spot.v),
      diameterUm: 2000 * Math.sqrt(openArea({ ...film, printed: [] }, dark, spot, spot.u, spot.v) / Math.PI),
      lengthMm: null,
    }
  })
  return { bed, scan: roughened(bed, random, plan.rough ?? true, place), kindAt, flaws }
}

/** Light of ink or of clear film within this share of what it is far from any edge. */
const PLAIN = 0.02
/** Beyond this much plain film nothing drawn is near, mm. */
const ALONE_MM = 1
/** Looks for a place, each. */
const TRIES = 400

/** Discs of ink in clear film and of no ink in ink, clear of edges by their own radius and three pixels: nearer, one is a notch of the edge. */
function strewn(
  random: Random,
  film: Film,
  { dpi, spots }: HardFilmPlan,
  barred: (u: number, v: number) => boolean,
): (Disc & { readonly alone: boolean })[] {
  const pixel = MM_PER_INCH / dpi
  const found: (Disc & { readonly alone: boolean })[] = []
  const field = inkField(film, pixel, 0, 1)
  const clear = 10 ** -film.baseDensity
  const full = 10 ** -(film.baseDensity + film.netDensity)
  const isPlain = (u: number, v: number, reach: number, dark: boolean): boolean => {
    const count = Math.ceil((2 * reach) / pixel) + 1
    const piece = field.piece({ u, v, reachU: reach, reachV: reach })
    const line = new Float64Array(count)
    for (let r = 0; r < count; r++) {
      piece.fill(line, 0, count, u - reach, v - reach + r * pixel, pixel, 0)
      if (!line.every(light => Math.abs(light - (dark ? clear : full)) <= PLAIN * (clear - full))) return false
    }
    return true
  }
  for (const dark of [false, true])
    for (let k = 0, tries = 0; k < spots!.each && tries < TRIES * spots!.each; tries++) {
      const radius = (random.between(...spots!.sizePx) * pixel) / 2
      const reach = 2 * radius + 3 * pixel
      const u = random.between(2.5, film.widthMm - 2.5)
      const v = random.between(2.5, film.heightMm - 3.5)
      if (barred(u, v) || found.some(d => Math.hypot(d.u - u, d.v - v) < 1.5)) continue
      if (!isPlain(u, v, reach, dark)) continue
      found.push({ kind: 'disc', u, v, radius, ink: dark ? 1 : -1, alone: isPlain(u, v, radius + ALONE_MM, dark) })
      k++
    }
  return found
}

/** Place on the film, mm, of a place on the scan. */
function placeOnFilm(bed: BedScan): (column: number, row: number) => { u: number; v: number } {
  const o = filmToPixel(bed, 0, 0)
  const a = filmToPixel(bed, 1, 0)
  const b = filmToPixel(bed, 0, 1)
  const [ax, ay, bx, by] = [a.column - o.column, a.row - o.row, b.column - o.column, b.row - o.row]
  const det = ax * by - ay * bx
  return (column, row) => {
    const [x, y] = [column - o.column, row - o.row]
    return { u: (x * by - y * bx) / det, v: (ax * y - ay * x) / det }
  }
}

/** The scan with what a shop's glass has: dust beside the film, one side cut crooked, cut edges that show dark. */
function roughened(
  bed: BedScan,
  random: Random,
  rough: boolean,
  place: (column: number, row: number) => { u: number; v: number },
): OpenScan {
  const { width, height } = scanSize(bed)
  const { light } = scanLight(bed)
  const { film, scanner } = bed
  if (rough) {
    const slope = random.between(-0.02, 0.02)
    const depth = random.between(0.5, 1.5)
    const pixel = MM_PER_INCH / scanner.dpi
    const edgeDark = random.between(0, 0.4)
    for (let r = 0; r < height; r++)
      for (let c = 0; c < width; c++) {
        const { u, v } = place(c, r)
        const i = r * width + c
        // The lower side is cut crooked: what lies beyond is bare glass.
        const beyond = v - (film.heightMm - depth - slope * (u - film.widthMm / 2))
        const bare = Math.min(1, Math.max(0, beyond / (2 * pixel) + 0.5))
        if (bare > 0 && v < film.heightMm + 1 && light[i]! > 0) light[i] = light[i]! * (1 - bare) + bare
        const rim = Math.min(Math.abs(u), Math.abs(film.widthMm - u), Math.abs(v), Math.abs(beyond))
        if (rim < 0.08 && beyond < 0.1 && u > -0.1 && u < film.widthMm + 0.1 && v > -0.1)
          light[i]! *= 1 - edgeDark * (1 - rim / 0.08)
      }
    for (let k = 0; k < 60; k++) {
      const c0 = Math.floor(random.uniform() * width)
      const r0 = Math.floor(random.uniform() * height)
      const radius = (random.between(0.03, 0.4) / pixel) | 0
      const dark = random.between(0.2, 1)
      const at = place(c0, r0)
      const clear = 0.6 + radius * pixel
      if (at.u > -clear && at.u < film.widthMm + clear && at.v > -clear && at.v < film.heightMm + clear) continue
      for (let r = Math.max(0, r0 - radius); r <= Math.min(height - 1, r0 + radius); r++)
        for (let c = Math.max(0, c0 - radius); c <= Math.min(width - 1, c0 + radius); c++) {
          const far = Math.hypot(c - c0, r - r0) / Math.max(1, radius)
          if (far < 1) light[r * width + c]! *= 1 - dark * (1 - far ** 4)
        }
    }
  }
  const codes = new Uint16Array(width * height)
  const noise = seededRandom(bed.seed)
  let seen = -1
  let mean = 0
  let sigma = 0
  for (let i = 0; i < codes.length; i++) {
    if (light[i] !== seen) {
      seen = light[i]!
      mean = meanCode(scanner, seen)
      const part = (mean - scanner.black) / scanner.gain
      sigma = Math.sqrt(scanner.readNoise ** 2 + scanner.shotNoise ** 2 * part)
    }
    codes[i] = Math.min(65535, Math.max(0, Math.round(mean + sigma * noise.normal())))
  }
  return memoryScan(codes, width, height, scanner.dpi, { maker: scanner.maker, model: scanner.model })
}

const WORDS = [
  'Tidewater',
  'Screenworks',
  'ink.',
  'film,',
  'mesh;',
  'i.e.',
  '8:30',
  'No. 12',
  '100%',
  'gauge',
  'Oboe',
  'fig. 6',
  'board',
]
const FONTS = [
  'DejaVu Sans',
  'DejaVu Serif',
  'DejaVu Sans Mono',
  'Liberation Sans',
  'Liberation Serif',
  'Liberation Mono',
  'Liberation Sans Narrow',
]
const POINT = MM_PER_INCH / 72

async function raster(random: Random, kind: HardKind, room: number): Promise<ArtworkBitmap> {
  const px = Math.round((room * PRINTER) / MM_PER_INCH)
  if (kind === 'gradient' || kind === 'coarse' || kind === 'tint') return bitmap(px, screen(random, kind, px))
  if (kind === 'stochastic') return bitmap(px, stochastic(random, px))
  if (kind === 'matrix') {
    const module = Math.round((random.between(0.2, 0.7) * PRINTER) / MM_PER_INCH)
    const n = Math.floor(px / module)
    const on = Uint8Array.from({ length: n * n }, (_, i) => {
      const [c, r] = [i % n, Math.floor(i / n)]
      // A solid L and a dotted one opposite, as such codes have.
      if (c === 0 || r === n - 1) return 1
      if (r === 0) return 1 - (c & 1)
      if (c === n - 1) return r & 1
      return random.uniform() < 0.5 ? 1 : 0
    })
    return bitmap(px, (c, r) => {
      const [a, b] = [Math.floor(c / module), Math.floor(r / module)]
      return a < n && b < n && on[b * n + a] === 1
    })
  }
  if (kind === 'bars') {
    const module = (random.between(0.15, 0.35) * PRINTER) / MM_PER_INCH
    const on = Array.from({ length: Math.ceil(px / module) }, () => random.uniform() < 0.5)
    return bitmap(px, c => on[Math.floor(c / module)]!)
  }
  const page = PAGE_KINDS.find(one => one === kind)
  return drawn(page === undefined ? svgOf(random, kind, room) : cellSvg(random, page, room, px), px)
}

function bitmap(px: number, ink: (column: number, row: number) => boolean): ArtworkBitmap {
  const rowBytes = (px + 7) >> 3
  const bits = new Uint8Array(rowBytes * px)
  let count = 0
  for (let r = 0; r < px; r++)
    for (let c = 0; c < px; c++)
      if (ink(c, r)) {
        bits[r * rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
        count++
      }
  const dpi = { across: PRINTER, along: PRINTER }
  return { file: 'cell.tif', width: px, height: px, dpi, bits, rowBytes, inkShare: count / px / px, warnings: [] }
}

async function drawn(svg: string, px: number): Promise<ArtworkBitmap> {
  const { data, info } = await sharp(Buffer.from(svg))
    .flatten({ background: '#fff' })
    .greyscale()
    .raw()
    .toBuffer({ resolveWithObject: true })
  return bitmap(px, (c, r) => data[(r * info.width + c) * info.channels]! < 128)
}

/** Round, square or elliptic dots by threshold, in a tint or running from light to dark. */
function screen(random: Random, kind: 'gradient' | 'coarse' | 'tint', px: number): (c: number, r: number) => boolean {
  const lpi = kind === 'coarse' ? random.between(15, 32) : random.between(30, 85)
  const pitch = PRINTER / lpi
  const angle = (random.between(0, 90) * Math.PI) / 180
  const shape = random.pick(['round', 'square', 'ellipse', 'line'])
  const tone = random.pick([0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 0.98])
  const even = kind === 'tint' || (kind === 'coarse' && random.uniform() < 0.5)
  const way = random.between(0, 2 * Math.PI)
  const radial = random.uniform() < 0.3
  return (c, r) => {
    const x = (c * Math.cos(angle) + r * Math.sin(angle)) / pitch
    const y = (r * Math.cos(angle) - c * Math.sin(angle)) / pitch
    const a = Math.cos(2 * Math.PI * x)
    const b = Math.cos(2 * Math.PI * y)
    // Share of the cell with a lower value, near enough.
    const level =
      shape === 'line'
        ? a
        : shape === 'ellipse'
          ? (a + 0.6 * b) / 1.6
          : shape === 'square'
            ? Math.max(a, b)
            : (a + b) / 2
    const along = ((c - px / 2) * Math.cos(way) + (r - px / 2) * Math.sin(way)) / px + 0.5
    const out = Math.hypot(c - px / 2, r - px / 2) / (0.7 * px)
    const wanted = even ? tone : radial ? out : along
    return (1 - level) / 2 < Math.min(1, Math.max(0, wanted))
  }
}

/** Dots of one size strewn by error diffusion with noise, or by chance; even or running. */
function stochastic(random: Random, px: number): (c: number, r: number) => boolean {
  const dot = random.pick([2, 3, 4, 6, 8])
  const n = Math.ceil(px / dot)
  const tone = random.between(0.04, 0.96)
  const running = random.uniform() < 0.5
  const on = new Uint8Array(n * n)
  const error = new Float64Array((n + 2) * (n + 1))
  for (let r = 0; r < n; r++)
    for (let c = 0; c < n; c++) {
      const at = r * (n + 2) + c + 1
      const value = (running ? c / n : tone) + error[at]!
      const set = value + random.between(-0.25, 0.25) > 0.5 ? 1 : 0
      on[r * n + c] = set
      const left = value - set
      error[at + 1]! += (left * 7) / 16
      error[at + n + 1]! += (left * 3) / 16
      error[at + n + 2]! += (left * 5) / 16
      error[at + n + 3]! += left / 16
    }
  return (c, r) => on[Math.floor(r / dot) * n + Math.floor(c / dot)] === 1
}

function svgOf(random: Random, kind: HardKind, room: number): string {
  const px = Math.round((room * PRINTER) / MM_PER_INCH)
  /** As many letters as fit: one cut through by the cell's rim leaves bits that no film has. */
  const text = (x: number, y: number, points: number, words: string, more = '') =>
    `<text x="${x.toFixed(3)}" y="${y.toFixed(3)}" font-size="${(points * POINT).toFixed(3)}" font-family="${random.pick(FONTS)}" ${more}>${words.slice(0, Math.floor((room - 0.4) / (0.82 * points * POINT)))}</text>`
  const style = () => random.pick(['', 'font-weight="bold"', 'font-style="italic"'])
  const line = () => `${random.pick(WORDS)} ${random.pick(WORDS)} ${random.pick(WORDS)}`
  const parts: string[] = []
  let invert = false
  if (kind === 'type') {
    parts.push(
      text(0, 5, 12, random.pick(WORDS), style()),
      text(0, 8.5, 9, line(), style()),
      text(0, room - 0.9, 8, line(), style()),
    )
  } else if (kind === 'smallType' || kind === 'reversedType') {
    invert = kind === 'reversedType'
    let y = 3
    while (y < room - 0.8) {
      const points = random.between(invert ? 4.5 : 3, 8)
      parts.push(text(0.3, y, points, line(), style()))
      y += points * POINT * random.between(1.05, 1.6)
    }
  } else if (kind === 'evenRow') {
    for (let y = 2.5; y < room - 0.8; y += 2.6) {
      const word = random.pick([
        'HHHHHHHHHHHHHHH',
        'oooooooooooooooo',
        'IIIIIIIIIIIIII',
        '88888888888888',
        '===========',
        '++++++++++',
        'ililililililil',
        '0000000000',
        '::::::::::::',
        'eeeeeeeeeeeeee',
      ])
      parts.push(text(0.2, y, random.between(3, 7), word))
    }
  } else if (kind === 'leaders') {
    for (let y = 1; y < room; y += 1.3) {
      const w = random.between(0.1, 0.35)
      const round = random.uniform() < 0.5
      const gap = random.between(1.2, 5) * w
      parts.push(
        `<path d="M0.3 ${y} L${room - 0.3} ${y}" stroke="#000" fill="none" stroke-width="${w.toFixed(3)}" stroke-dasharray="${round ? `0 ${(gap + w).toFixed(3)}` : `${(w * random.between(1, 4)).toFixed(3)} ${gap.toFixed(3)}`}" ${round ? 'stroke-linecap="round"' : ''}/>`,
      )
    }
  } else if (kind === 'hatch') {
    const w = random.between(0.06, 0.2)
    const gap = random.between(0.35, 1.2)
    const a = random.between(0, 180)
    for (const turn of random.uniform() < 0.5 ? [a] : [a, a + 90])
      for (let y = -room; y < 2 * room; y += gap)
        parts.push(
          `<path transform="rotate(${turn.toFixed(2)} ${room / 2} ${room / 2})" d="M${-room} ${y.toFixed(3)} L${2 * room} ${y.toFixed(3)}" stroke="#000" stroke-width="${w.toFixed(3)}"/>`,
        )
  } else if (kind === 'curves') {
    for (let k = 0; k < 3; k++) {
      const p = () => `${random.between(0.3, room - 0.3).toFixed(2)} ${random.between(0.3, room - 0.3).toFixed(2)}`
      parts.push(
        `<path d="M${p()} C${p()} ${p()} ${p()}" fill="none" stroke="#000" stroke-width="${random.between(0.1, 0.5).toFixed(3)}"/>`,
      )
    }
    parts.push(
      `<circle cx="${room / 2}" cy="${room / 2}" r="${random.between(1, 5).toFixed(2)}" fill="none" stroke="#000" stroke-width="${random.between(0.08, 0.3).toFixed(3)}"/>`,
    )
  } else if (kind === 'stars') {
    // Ornaments: small shapes of one kind strewn by the artist, none of them a speck.
    for (let k = 0; k < 30; k++) {
      const s = random.between(0.25, 0.9)
      const [x, y] = [random.between(0.6, room - 0.6), random.between(0.6, room - 0.6)]
      const points = Array.from({ length: 10 }, (_, i) => {
        const q = (Math.PI * i) / 5
        const rr = i % 2 === 0 ? s : 0.42 * s
        return `${(x + rr * Math.sin(q)).toFixed(3)},${(y - rr * Math.cos(q)).toFixed(3)}`
      }).join(' ')
      parts.push(`<polygon points="${points}"/>`)
    }
  }
  const ground = invert ? `<rect width="${room}" height="${room}" fill="#000"/>` : ''
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${px}" height="${px}" viewBox="0 0 ${room} ${room}">${ground}<g fill="${invert ? '#fff' : '#000'}">${parts.join('')}</g></svg>`
}
