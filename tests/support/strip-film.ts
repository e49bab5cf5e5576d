import type { Film } from '../../src/demo/film.js'
import { printedRaster } from '../../src/demo/printed-raster.js'
import { type Random, seededRandom } from '../../src/demo/random.js'
import type { BedScan, DemoScanner } from '../../src/demo/scanner.js'
import { filmToPixel } from '../../src/demo/scanner.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import type { PixelPoint } from '../../src/model/geometry.js'
import { MM_PER_INCH } from '../../src/model/geometry.js'
import type { StripField, StripForm, StripIdentity, StripLaid } from '../../src/model/strip.js'
import { drawStrip, type StripDrawing } from '../../src/strip/draw-strip.js'
import { dotOrder, halftoneCell, type Screen } from '../../src/strip/halftone-cell.js'
import { QUICK_SCANNER } from './quick-scanner.js'

/** A film with a control strip printed on it, lying somehow on a scanner, with all that is true of it. */
export interface StripFilm extends BedScan {
  readonly identity: StripIdentity
  readonly drawing: StripDrawing
  readonly asked: Screen
  /** Where a place of the strip, mm, lies on the scan. */
  toScan(x: number, y: number): PixelPoint
}

/** What a random film with a strip is drawn from. */
export interface StripFilmRanges {
  readonly dpi: number
  readonly forms: readonly StripForm[]
  /** Share of the strip's area that is scratched. */
  readonly scratched: number
  readonly inkSpreadUm: readonly [number, number]
  readonly netDensity: readonly [number, number]
  readonly scanner?: DemoScanner
  readonly laid?: StripLaid
  readonly banding?: Film['banding']
  readonly turnDegrees?: number
  /** What becomes of the print before it is scanned: a lost nozzle, say. */
  readonly spoilt?: (drawing: StripDrawing) => ArtworkBitmap
}

const PRINTERS = [
  { across: 720, along: 720 },
  { across: 1440, along: 720 },
  { across: 1440, along: 1440 },
  { across: 600, along: 600 },
]
const NAMES = ['spring-front-2', 'Käfer 7 (blue)', 'x', 'A-very-long-name-of-a-positive-2026']

/** Clear film round the strip, and glass round the film, mm. */
const RIM = 2
const GLASS = 1.5

/** The strip as printed (its own raster, not a drawing of it) at any turn, mirrored or not. The same seed gives the same film. */
export function stripFilm(seed: number, ranges: StripFilmRanges): StripFilm {
  const random = seededRandom(seed)
  const dpi = random.pick(PRINTERS)
  const identity: StripIdentity = {
    positive: random.pick(NAMES),
    jobType: random.pick(['fine-line', 'halftone', 'bold']),
    dpi,
    form: random.pick(ranges.forms),
    laid: ranges.laid ?? random.pick(['head', 'feed'] as const),
    tints: 'screened',
    setting: 'film best',
    stock: 'stock-a',
  }
  const asked = { ruling: random.between(35, 65), angle: random.between(0, 90) }
  const drawing = drawStrip(identity, asked)
  const across = (drawing.bitmap.width * MM_PER_INCH) / dpi.across
  const along = (drawing.bitmap.height * MM_PER_INCH) / dpi.along
  const widthMm = across + 2 * RIM
  const heightMm = along + 2 * RIM
  const drawn = random.between(0, 360)
  const turnDegrees = ranges.turnDegrees ?? drawn
  const turn = (turnDegrees * Math.PI) / 180
  const bedWidthMm = Math.abs(widthMm * Math.cos(turn)) + Math.abs(heightMm * Math.sin(turn)) + 2 * GLASS
  const bedHeightMm = Math.abs(widthMm * Math.sin(turn)) + Math.abs(heightMm * Math.cos(turn)) + 2 * GLASS
  const scan: BedScan = {
    scanner: ranges.scanner ?? {
      ...QUICK_SCANNER,
      dpi: ranges.dpi,
      blurAcrossUm: random.between(8, 18),
      blurAlongUm: random.between(8, 18),
      gamma: random.between(1, 2.2),
    },
    bedWidthMm,
    bedHeightMm,
    film: {
      widthMm,
      heightMm,
      baseDensity: random.between(0.03, 0.1),
      netDensity: random.between(...ranges.netDensity),
      inkSpreadUm: random.between(...ranges.inkSpreadUm),
      shapes: scratches(random, ranges.scratched, across, along),
      printed: [{ u: RIM, v: RIM, raster: ranges.spoilt?.(drawing) ?? drawing.bitmap }],
      ...(ranges.banding === undefined ? {} : { banding: ranges.banding }),
    },
    placement: {
      acrossMm: bedWidthMm / 2,
      alongMm: bedHeightMm / 2,
      turnDegrees,
      mirrored: random.pick([false, true]),
    },
    holder: null,
    seed,
  }
  return {
    ...scan,
    identity,
    drawing,
    asked,
    toScan: (x, y) => {
      const [u, v] = onPrint({ identity, drawing }, x, y)
      return filmToPixel(scan, RIM + u, RIM + v)
    },
  }
}

/** Long light lines, 3 to 30 mm by 0.03 to 0.15 mm, any way, until so much of the strip is gone. */
function scratches(random: Random, share: number, across: number, along: number): BedScan['film']['shapes'] {
  const found: BedScan['film']['shapes'][number][] = []
  for (let area = 0; area < share * across * along; ) {
    const width = random.between(3, 30)
    const height = random.between(0.03, 0.15)
    const u = RIM + random.uniform() * across - width / 2
    const v = RIM + random.uniform() * along
    found.push({ kind: 'rectangle', u, v, width, height, turn: random.between(0, 180), ink: -1 })
    area += width * height
  }
  return found
}

/** A place of the strip on the print, mm. */
function onPrint(
  { identity, drawing }: Pick<StripFilm, 'identity' | 'drawing'>,
  x: number,
  y: number,
): [number, number] {
  return identity.laid === 'head' ? [x, y] : [(drawing.bitmap.width * MM_PER_INCH) / identity.dpi.across - y, x]
}

/** Transmittance of the film itself, ink spread and all, no scanner, as the printed raster has it. */
function filmLight({ film, drawing }: Pick<StripFilm, 'film' | 'drawing'>, raster = drawing.bitmap) {
  const part = printedRaster({ u: 0, v: 0, raster }, film.inkSpreadUm)
  const out = new Float64Array(1)
  return (u: number, v: number): number => {
    const seen = part.look({ u, v, reachU: 0, reachV: 0 })
    out[0] = 0
    if (typeof seen !== 'number') seen(out, 0, 1, u, v, 0, 0)
    const ink = typeof seen === 'number' ? seen : out[0]!
    return 10 ** -(film.baseDensity + film.netDensity * ink)
  }
}

/** True width of a line where the film's own light is 60 % of the way from base to solid, um; 0 where it never is. */
export function trueWidth(strip: StripFilm, field: Extract<StripField, { kind: 'line' }>): number {
  const light = filmLight(strip)
  const { baseDensity, netDensity } = strip.film
  const level = 10 ** -baseDensity * (1 - 0.6 * (1 - 10 ** -netDensity))
  const { rect } = field
  const x = rect.x + rect.width / 2
  const y = rect.y + rect.height / 2
  const alongX = rect.width > rect.height
  const inside = (off: number) => {
    const [u, v] = onPrint(strip, alongX ? x : x + off, alongX ? y + off : y)
    return light(u, v) < level === (field.polarity === 'positive')
  }
  if (!inside(0)) return 0
  let width = 0
  for (const side of [-1, 1]) {
    let low = 0
    let high = 0.4
    for (let i = 0; i < 30; i++) {
      const middle = (low + high) / 2
      if (inside(side * middle)) low = middle
      else high = middle
    }
    width += 1000 * low
  }
  return width
}

/** Points of a halftone tile each way at which its light is looked up. */
const POINTS = 90

/** True tone value of a tint, %: mean light of the film over one whole tile of the screen, which repeats without seam. */
export function trueTone(strip: StripFilm, percent: number): number {
  const { asked, identity, film } = strip
  const cell = halftoneCell(asked, identity.dpi)
  const rank = dotOrder(cell)
  const inked = Math.round((percent / 100) * cell.pixels)
  const { first, second } = cell
  const rim = Math.ceil(
    (6 * film.inkSpreadUm) / ((1000 * MM_PER_INCH) / Math.max(identity.dpi.across, identity.dpi.along)),
  )
  const width = Math.abs(first.columns) + Math.abs(second.columns) + 2 * rim
  const height = Math.abs(first.rows) + Math.abs(second.rows) + 2 * rim
  const rowBytes = (width + 7) >> 3
  const bits = new Uint8Array(rowBytes * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) if (rank(c, r) < inked) bits[r * rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
  const raster = { ...strip.drawing.bitmap, width, height, rowBytes, bits }
  const light = filmLight(strip, raster)
  const left = rim - Math.min(0, first.columns) - Math.min(0, second.columns)
  const top = rim - Math.min(0, first.rows) - Math.min(0, second.rows)
  let sum = 0
  for (let i = 0; i < POINTS; i++)
    for (let j = 0; j < POINTS; j++) {
      const s = (i + 0.5) / POINTS
      const t = (j + 0.5) / POINTS
      sum += light(
        ((left + s * first.columns + t * second.columns) * MM_PER_INCH) / identity.dpi.across,
        ((top + s * first.rows + t * second.rows) * MM_PER_INCH) / identity.dpi.along,
      )
    }
  const base = 10 ** -film.baseDensity
  const solid = 10 ** -(film.baseDensity + film.netDensity)
  return (100 * (base - sum / POINTS ** 2)) / (base - solid)
}
