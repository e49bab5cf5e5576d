import type { PixelPoint } from '../model/geometry.js'
import type { Film } from './film.js'
import { gaussianCdf } from './gaussian.js'
import { type FilmPiece, type InkField, inkField, type PieceInk, rectanglePart } from './ink-field.js'
import { normalTable } from './random.js'

/** A make-believe flatbed. Lengths in um; codes of 0..65535; everything random comes from the scan's seed. */
export interface DemoScanner {
  readonly maker: string
  readonly model: string
  /** What the file will say, pixels per inch both ways. */
  readonly dpi: number
  /** True pixel pitch is the said one times (1 + error). */
  readonly scaleErrorAcross: number
  readonly scaleErrorAlong: number
  /** Optical blur, one sigma. The pixel's own box comes on top. */
  readonly blurAcrossUm: number
  readonly blurAlongUm: number
  /** code = black + gain * (exposure * (lamp * T + veil))^(1/gamma). */
  readonly black: number
  readonly gain: number
  readonly gamma: number
  /** Light that reaches the sensor whatever lies on the glass, share of open light. */
  readonly veil: number
  /** Noise of a dark pixel, and of open light on top, codes (one sigma). */
  readonly readNoise: number
  readonly shotNoise: number
  /** Share f of the surrounding light that leaks in: seen = (T + f * surroundings) / (1 + f). */
  readonly flare: number
  /** How far the surroundings reach (radius), mm. */
  readonly flareReachMm: number
  /** How it falls off: a tent (unless told), a bell, or all of the window alike. */
  readonly flareShape?: 'tent' | 'bell' | 'even'
  /** Fall of light from the middle to either side of the bed, share. */
  readonly shading: number
  /** Lamp against the day it was calibrated: 1 is unchanged. */
  readonly lamp: number
  /** Light over the glass, besides `shading`; the same everywhere unless told. */
  readonly fallOff?: LampFallOff
  /** Share of its density a film shows more, 100 mm from the glass's mid-line; grows with the square of the distance (OD(x) = c0 + c x^2). */
  readonly lateral?: number
  /** Exposure against that of the calibration: grows all light, veil too, but not the black level. 1 unless told. */
  readonly exposure?: number
}

/**
 * Light at a place of the glass over that at its middle, u and v from -1 to 1 over the glass:
 * 1 + tiltAcross u + tiltAlong v - across u^2 - steep u^4 - along v^2 + twist u v.
 */
export interface LampFallOff {
  readonly across: number
  readonly along: number
  readonly steep?: number
  readonly tiltAcross?: number
  readonly tiltAlong?: number
  readonly twist?: number
}

/** What lies on the glass, and how it is scanned. */
export interface BedScan {
  readonly scanner: DemoScanner
  /** Size of the scanned window of the bed. */
  readonly bedWidthMm: number
  readonly bedHeightMm: number
  /** The whole glass and where the window's first corner lies on it; the window is the whole glass unless told. */
  readonly glass?: {
    readonly widthMm: number
    readonly heightMm: number
    readonly leftMm: number
    readonly topMm: number
  }
  readonly film: Film
  readonly placement: Placement
  /** Opaque strip along one side of the window, if any. */
  readonly holder: { readonly side: 'left' | 'right' | 'top' | 'bottom'; readonly widthMm: number } | null
  readonly seed: number
}

/** Where the film's middle lies on the bed, how far u is turned towards v (degrees, clockwise as seen), and whether it lies wrong side down. */
export interface Placement {
  readonly acrossMm: number
  readonly alongMm: number
  readonly turnDegrees: number
  readonly mirrored: boolean
}

/** Whole rows of codes, top to bottom. `codes` is used again for the next band: copy what must last. */
export interface CodeBand {
  readonly row: number
  readonly height: number
  readonly codes: Uint16Array
}

/** Pixels of the scan: width and height, and true pitch in um. */
export function scanSize(scan: BedScan): {
  readonly width: number
  readonly height: number
  readonly pitchUm: { readonly across: number; readonly along: number }
} {
  const across = (25_400 / scan.scanner.dpi) * (1 + scan.scanner.scaleErrorAcross)
  const along = (25_400 / scan.scanner.dpi) * (1 + scan.scanner.scaleErrorAlong)
  return {
    width: Math.round((scan.bedWidthMm * 1000) / across),
    height: Math.round((scan.bedHeightMm * 1000) / along),
    pitchUm: { across, along },
  }
}

/** Where a place on the film (mm) lies on the scan, pixels; the centre of the first pixel is (0, 0). */
export function filmToPixel(scan: BedScan, u: number, v: number): PixelPoint {
  const { pitchUm } = scanSize(scan)
  const turn = (scan.placement.turnDegrees * Math.PI) / 180
  const a = (u - scan.film.widthMm / 2) * (scan.placement.mirrored ? -1 : 1)
  const b = v - scan.film.heightMm / 2
  const x = scan.placement.acrossMm + a * Math.cos(turn) - b * Math.sin(turn)
  const y = scan.placement.alongMm + a * Math.sin(turn) + b * Math.cos(turn)
  return { column: (x * 1000) / pitchUm.across - 0.5, row: (y * 1000) / pitchUm.along - 0.5 }
}

/** Code the scanner gives for a steady light, before noise and rounding. */
export function meanCode(scanner: DemoScanner, transmittance: number): number {
  const light = transmittance * scanner.lamp + scanner.veil
  return scanner.black + scanner.gain * Math.max(0, (scanner.exposure ?? 1) * light) ** (1 / scanner.gamma)
}

/** The whole scan in memory: 2 bytes a pixel. */
export function scanFilm(scan: BedScan): {
  readonly codes: Uint16Array
  readonly width: number
  readonly height: number
} {
  const { width, height } = scanSize(scan)
  const codes = new Uint16Array(width * height)
  for (const band of scanBands(scan)) codes.set(band.codes.subarray(0, band.height * width), band.row * width)
  return { codes, width, height }
}

/** The whole scan as light, before response and noise: for tests of the optics. */
export function scanLight(scan: BedScan): {
  readonly light: Float32Array
  readonly width: number
  readonly height: number
} {
  const { width, height } = scanSize(scan)
  const light = new Float32Array(width * height)
  for (const band of lightBands(scan)) light.set(band.light.subarray(0, band.height * width), band.row * width)
  return { light, width, height }
}

/** The scan, band by band. */
export function* scanBands(scan: BedScan): Generator<CodeBand> {
  const { scanner } = scan
  const { width } = scanSize(scan)
  const normals = normalTable()
  let state = noiseState(scan.seed)
  const shade = Float64Array.from({ length: width }, (_, i) => {
    const x = (2 * (i + 0.5)) / width - 1
    return scanner.lamp * (1 - scanner.shading * x * x)
  })
  const onGlass = glassOf(scan)
  const { fallOff, lateral = 0 } = scanner
  const u = shade.map((_, i) => onGlass.u(i))
  // More density is a power of light: one exponent a column.
  const power = shade.map((_, i) => 1 + lateral * (onGlass.fromMiddleMm(i) / 100) ** 2)
  const parts = responseTable(scanner)
  const exposed = (scanner.exposure ?? 1) ** (1 / scanner.gamma)
  const readVariance = scanner.readNoise * scanner.readNoise
  const shotVariance = scanner.shotNoise * scanner.shotNoise
  let codes = new Uint16Array(0)
  let seen = -1
  let mean = 0
  let sigma = 0
  for (const band of lightBands(scan)) {
    const count = band.height * width
    if (codes.length < count) codes = new Uint16Array(count)
    for (let row = 0; row < band.height; row++) {
      const start = row * width
      const v = onGlass.v(band.row + row)
      for (let column = 0; column < width; column++) {
        let light = band.light[start + column]!
        if (lateral !== 0 && light > 0) light **= power[column]!
        light *= shade[column]!
        if (fallOff !== undefined) light *= litShare(fallOff, u[column]!, v)
        if (light !== seen) {
          seen = light
          const at = Math.sqrt(light + scanner.veil) * PARTS_PER_ROOT
          const k = at | 0
          const part = exposed * (parts[k]! + (parts[k + 1]! - parts[k]!) * (at - k))
          mean = scanner.black + scanner.gain * part
          sigma = Math.sqrt((readVariance + shotVariance * part) / 2)
        }
        // xorshift32 (Marsaglia, J. Stat. Softw. 8(14), 2003), written out because this line runs for every pixel.
        // The sum of two table values, each of 12 bits of the same word, reaches 5 sigma.
        state ^= state << 13
        state ^= state >>> 17
        state ^= state << 5
        const code = mean + sigma * (normals[state & 4095]! + normals[(state >>> 12) & 4095]!)
        codes[start + column] = code <= 0 ? 0 : code >= 65535 ? 65535 : code + 0.5
      }
    }
    yield { row: band.row, height: band.height, codes }
  }
}

/** Light at a place of the glass over that at its middle, u and v from -1 to 1. */
export function litShare(fallOff: LampFallOff, u: number, v: number): number {
  const { across, along, steep = 0, tiltAcross = 0, tiltAlong = 0, twist = 0 } = fallOff
  const u2 = u * u
  return 1 + tiltAcross * u + tiltAlong * v - across * u2 - steep * u2 * u2 - along * v * v + twist * u * v
}

/** Where the centres of columns and rows lie on the glass. */
function glassOf(scan: BedScan) {
  const { pitchUm } = scanSize(scan)
  const glass = scan.glass ?? { widthMm: scan.bedWidthMm, heightMm: scan.bedHeightMm, leftMm: 0, topMm: 0 }
  const xMm = (column: number) => glass.leftMm + ((column + 0.5) * pitchUm.across) / 1000
  const yMm = (row: number) => glass.topMm + ((row + 0.5) * pitchUm.along) / 1000
  return {
    u: (column: number) => (2 * xMm(column)) / glass.widthMm - 1,
    v: (row: number) => (2 * yMm(row)) / glass.heightMm - 1,
    fromMiddleMm: (column: number) => xMm(column) - glass.widthMm / 2,
  }
}

/** Entries a unit of the square root of light; the root makes the usual responses nearly straight. */
const PARTS_PER_ROOT = 4096
/** Light up to 4 times open light has a place in the table: shading and lamp never come near. */
const MOST_ROOT = 2

/** (light)^(1/gamma) by the root of light, linear between: within 0.02 codes for gamma 1 to 2.2 and light above 1e-5. */
function responseTable(scanner: DemoScanner): Float64Array {
  return Float64Array.from(
    { length: MOST_ROOT * PARTS_PER_ROOT + 2 },
    (_, i) => (i / PARTS_PER_ROOT) ** (2 / scanner.gamma),
  )
}

/** Start of the noise of a scan: the seed well mixed, never 0 (where xorshift stands still). */
function noiseState(seed: number): number {
  let x = (seed ^ 0x2545f491) | 0
  x = Math.imul(x ^ (x >>> 16), 0x85ebca6b)
  x = Math.imul(x ^ (x >>> 13), 0xc2b2ae35)
  x ^= x >>> 16
  return x === 0 ? 1 : x
}

interface LightBand {
  readonly row: number
  readonly height: number
  readonly light: Float32Array
}

/** Light of one piece of the bed, known before its samples are. */
interface Tile {
  readonly kind: 'even' | 'rippled' | 'edges'
  readonly light: number
  readonly hard: boolean
  readonly ink: PieceInk | null
  readonly film: Cover
  readonly holder: Cover
}

/** How much of a piece something covers: nothing, all, or an edge runs through (a filler). */
type Cover = ReturnType<ReturnType<typeof rectanglePart>['look']>

/** Tails of the optical blur beyond this many sigma are left out: 7e-6 of the light. */
const BLUR_REACH_SIGMA = 4.5

function* lightBands(scan: BedScan): Generator<LightBand> {
  const { scanner, film, placement } = scan
  const { width, height, pitchUm } = scanSize(scan)
  const tileSize = pitchUm.across > 30 ? 8 : 16
  const pitchX = pitchUm.across / 1000
  const pitchY = pitchUm.along / 1000
  const smooth = sampling(scan, false)
  const hard = sampling(scan, true)
  const marginX = Math.max((smooth.across.margin * pitchX) / smooth.parts, (hard.across.margin * pitchX) / hard.parts)
  const marginY = Math.max((smooth.along.margin * pitchY) / smooth.parts, (hard.along.margin * pitchY) / hard.parts)
  const cell = (pitchX + pitchY) / 2 / hard.parts
  const filmTurn = placement.mirrored ? -placement.turnDegrees : placement.turnDegrees
  const field = inkField(film, cell, filmTurn, scan.seed)

  const turn = (placement.turnDegrees * Math.PI) / 180
  const flip = placement.mirrored ? -1 : 1
  const uX = Math.cos(turn) * flip
  const uY = Math.sin(turn) * flip
  const vX = -Math.sin(turn)
  const vY = Math.cos(turn)
  const u0 = film.widthMm / 2 - uX * placement.acrossMm - uY * placement.alongMm
  const v0 = film.heightMm / 2 - vX * placement.acrossMm - vY * placement.alongMm

  const outline = rectanglePart(
    { kind: 'rectangle', u: 0, v: 0, width: film.widthMm, height: film.heightMm },
    1,
    cell,
    cell,
    filmTurn,
    0,
  )
  const holderPart = scan.holder === null ? null : rectanglePart(holderRectangle(scan), 1, cell, cell, 0, 0)

  const pieceOf = (x: number, y: number, reachX: number, reachY: number): FilmPiece => ({
    u: u0 + uX * x + uY * y,
    v: v0 + vX * x + vY * y,
    reachU: Math.abs(uX) * reachX + Math.abs(uY) * reachY,
    reachV: Math.abs(vX) * reachX + Math.abs(vY) * reachY,
  })
  const look = (field: InkField, x: number, y: number, reachX: number, reachY: number): Tile => {
    const holder: Cover = holderPart === null ? 0 : holderPart.look({ u: x, v: y, reachU: reachX, reachV: reachY })
    if (holder === 1) return { kind: 'even', light: 0, hard: false, ink: null, film: 0, holder }
    const at = pieceOf(x, y, reachX, reachY)
    const cover = outline.look(at)
    if (cover === 0 && holder === 0) return { kind: 'even', light: 1, hard: false, ink: null, film: 0, holder }
    const ink = cover === 0 ? null : field.piece(at)
    if (cover === 1 && holder === 0 && ink !== null) {
      if (ink.light !== null) return { kind: 'even', light: ink.light, hard: false, ink, film: 1, holder }
      return { kind: ink.even ? 'rippled' : 'edges', light: -1, hard: ink.hard, ink, film: 1, holder }
    }
    return { kind: 'edges', light: -1, hard: true, ink, film: cover, holder }
  }

  const tilesAcross = Math.ceil(width / tileSize)
  const surroundings =
    scanner.flare > 0
      ? surroundingLight(scan, width, height, (x, y) =>
          pointLight(look(field, x, y, 1e-9, 1e-9), x, y, { uX, uY, vX, vY, u0, v0 }),
        )
      : null

  // Samples of a run of tiles reach past it by the kernel's margin on each side.
  const most = Math.max(smooth.parts, hard.parts)
  const margin = Math.max(smooth.across.margin, hard.across.margin, smooth.along.margin, hard.along.margin)
  const subRow = new Float64Array(width * most + 2 * margin + 2)
  const coverRow = new Float64Array(subRow.length)
  const lines = new Float64Array((tileSize * most + 2 * margin) * width)
  const light = new Float32Array(tileSize * width)
  const sums = new Float64Array(width)

  for (let row = 0; row < height; row += tileSize) {
    const rows = Math.min(tileSize, height - row)
    const tiles: Tile[] = []
    const reachX = (tileSize / 2) * pitchX + marginX
    const reachY = (rows / 2) * pitchY + marginY
    const y = (row + rows / 2) * pitchY
    const bandField = field.within(
      pieceOf((width * pitchX) / 2, y, (width * pitchX) / 2 + tileSize * pitchX + reachX, reachY),
    )
    for (let t = 0; t < tilesAcross; t++) tiles.push(look(bandField, (t + 0.5) * tileSize * pitchX, y, reachX, reachY))

    for (let t = 0; t < tilesAcross; ) {
      const tile = tiles[t]!
      const from = t * tileSize
      if (tile.kind === 'even') {
        const to = Math.min(width, from + tileSize)
        for (let r = 0; r < rows; r++) light.fill(tile.light, r * width + from, r * width + to)
        t++
        continue
      }
      if (tile.kind === 'rippled') {
        const count = Math.min(tileSize, width - from)
        for (let r = 0; r < rows; r++) {
          const px = (from + 0.5) * pitchX
          const py = (row + r + 0.5) * pitchY
          tile.ink!.fill(subRow, 0, count, u0 + uX * px + uY * py, v0 + vX * px + vY * py, uX * pitchX, vX * pitchX)
          for (let i = 0; i < count; i++) light[r * width + from + i] = subRow[i]!
        }
        t++
        continue
      }
      let end = t + 1
      while (end < tilesAcross && tiles[end]!.kind === 'edges' && tiles[end]!.hard === tile.hard) end++
      edgeRun(t, end, tile.hard ? hard : smooth)
      t = end
    }

    function edgeRun(first: number, end: number, sampling: Sampling): void {
      const { parts, across, along } = sampling
      const from = first * tileSize
      const runWidth = Math.min(width, end * tileSize) - from
      const subRows = rows * parts + 2 * along.margin
      const size = across.weights.length
      const weights = across.weights
      for (let j = 0; j < subRows; j++) {
        const py = (row + (j - along.margin + 0.5) / parts) * pitchY
        for (let t = first; t < end; t++) {
          const subFrom = t === first ? -across.margin : (t - first) * tileSize * parts
          const subTo = t === end - 1 ? runWidth * parts + across.margin : (t + 1 - first) * tileSize * parts
          const px = (from + (subFrom + 0.5) / parts) * pitchX
          fillSamples(tiles[t]!, subFrom + across.margin, subTo - subFrom, px, py, pitchX / parts)
        }
        const line = j * runWidth
        for (let column = 0; column < runWidth; column++) {
          const at = column * parts
          let sum = 0
          for (let i = 0; i < size; i++) sum += weights[i]! * subRow[at + i]!
          lines[line + column] = sum
        }
      }
      for (let r = 0; r < rows; r++) {
        sums.fill(0, 0, runWidth)
        for (let j = 0; j < along.weights.length; j++) {
          const weight = along.weights[j]!
          const line = (r * parts + j) * runWidth
          for (let column = 0; column < runWidth; column++) sums[column]! += weight * lines[line + column]!
        }
        const start = r * width + from
        for (let column = 0; column < runWidth; column++) light[start + column] = sums[column]!
      }
    }

    function fillSamples(tile: Tile, offset: number, count: number, px: number, py: number, stepX: number): void {
      if (tile.light >= 0) subRow.fill(tile.light, offset, offset + count)
      else {
        const u = u0 + uX * px + uY * py
        const v = v0 + vX * px + vY * py
        const du = uX * stepX
        const dv = vX * stepX
        if (tile.ink === null) subRow.fill(1, offset, offset + count)
        else tile.ink.fill(subRow, offset, count, u, v, du, dv)
        if (typeof tile.film !== 'number') {
          coverRow.fill(0, offset, offset + count)
          tile.film(coverRow, offset, count, u, v, du, dv)
          for (let i = offset; i < offset + count; i++) subRow[i] = 1 + coverRow[i]! * (subRow[i]! - 1)
        }
        if (typeof tile.holder !== 'number') {
          coverRow.fill(0, offset, offset + count)
          tile.holder(coverRow, offset, count, px, py, stepX, 0)
          for (let i = offset; i < offset + count; i++) subRow[i]! *= 1 - coverRow[i]!
        }
      }
    }

    if (surroundings !== null)
      for (let r = 0; r < rows; r++)
        for (let column = 0; column < width; column++) {
          const i = r * width + column
          light[i] = (light[i]! + scanner.flare * surroundings(column, row + r)) / (1 + scanner.flare)
        }
    yield { row, height: rows, light }
  }
}

/** How finely a piece of the bed is looked at, and the weights that make a pixel of the samples. */
interface Sampling {
  /** Samples along a pixel's side. */
  readonly parts: number
  readonly across: Kernel
  readonly along: Kernel
}

interface Kernel {
  /** Samples beyond the pixel on either side. */
  readonly margin: number
  /** Sum to 1. */
  readonly weights: Float64Array
}

/**
 * Fine enough for the film's own light edge and for the blur. An ink edge of sigma s is in light about as sharp as a
 * Gaussian of 0.6 s, which is free of aliasing in samples of 0.9 s; a Gaussian kernel taken at samples keeps its
 * width when they are below 1.4 sigma apart; and with hard edges, 0.65.
 */
function sampling(scan: BedScan, hard: boolean): Sampling {
  const { pitchUm } = scanSize(scan)
  const { blurAcrossUm, blurAlongUm } = scan.scanner
  const pitch = Math.max(pitchUm.across, pitchUm.along)
  const ink = scan.film.inkSpreadUm
  const blur = Math.min(blurAcrossUm, blurAlongUm)
  const finest = Math.min(ink > 0 ? 0.9 * ink : Infinity, blur > 0 ? (hard ? 0.65 : 1.4) * blur : pitch / 4)
  const parts = Math.min(24, Math.max(hard ? 3 : 1, Math.ceil(pitch / finest)))
  return {
    parts,
    across: kernel(pitchUm.across, blurAcrossUm, parts, hard),
    along: kernel(pitchUm.along, blurAlongUm, parts, hard),
  }
}

/**
 * Smooth: Gaussian over the pixel's box, taken at the samples: for light that is smooth over a sample.
 * Hard: Gaussian at samples over a comb of cells: for samples that are averages over their cell,
 * whose own boxes then make up the pixel's box exactly.
 */
function kernel(pitchUm: number, sigmaUm: number, parts: number, hard: boolean): Kernel {
  const step = pitchUm / parts
  const margin = Math.ceil((BLUR_REACH_SIGMA * sigmaUm) / step)
  const weights = Float64Array.from({ length: parts + 2 * margin }, (_, i) => {
    if (!(sigmaUm > 0)) return 1
    const x = (i - margin + 0.5) * step - pitchUm / 2
    if (!hard) return gaussianCdf((x + pitchUm / 2) / sigmaUm) - gaussianCdf((x - pitchUm / 2) / sigmaUm)
    let sum = 0
    for (let q = 0; q < parts; q++) sum += Math.exp(-((((i - margin - q) * step) / sigmaUm) ** 2) / 2)
    return sum
  })
  return { margin, weights: unitSum(weights) }
}

function unitSum(weights: Float64Array): Float64Array {
  let sum = 0
  for (const weight of weights) sum += weight
  return weights.map(weight => weight / sum)
}

function holderRectangle(scan: BedScan) {
  const { side, widthMm } = scan.holder!
  // Runs past the window, so that only its inner edge is ever seen.
  const past = 50
  const w = scan.bedWidthMm
  const h = scan.bedHeightMm
  const rectangle = { kind: 'rectangle', u: -past, v: -past, width: w + 2 * past, height: h + 2 * past } as const
  if (side === 'left') return { ...rectangle, width: past + widthMm }
  if (side === 'right') return { ...rectangle, u: w - widthMm, width: past + widthMm }
  if (side === 'top') return { ...rectangle, height: past + widthMm }
  return { ...rectangle, v: h - widthMm, height: past + widthMm }
}

interface FilmAxes {
  readonly uX: number
  readonly uY: number
  readonly vX: number
  readonly vY: number
  readonly u0: number
  readonly v0: number
}

function pointLight(tile: Tile, x: number, y: number, axes: FilmAxes): number {
  if (tile.light >= 0) return tile.light
  if (tile.ink === null) return 1
  const out = new Float64Array(1)
  tile.ink.fill(out, 0, 1, axes.u0 + axes.uX * x + axes.uY * y, axes.v0 + axes.vX * x + axes.vY * y, 0, 0)
  return out[0]!
}

/** Points of a cell in which its light is looked up, each way: a cell on an edge must hold the share of it that is lit. */
const SURROUND_POINTS = 4

/** Mean light around a place: cells of 0.5 mm by area, a box of the flare's reach run twice each way. */
function surroundingLight(scan: BedScan, width: number, height: number, light: (x: number, y: number) => number) {
  const step = 0.5
  const columns = Math.ceil(scan.bedWidthMm / step) + 1
  const rows = Math.ceil(scan.bedHeightMm / step) + 1
  const grid = new Float64Array(columns * rows)
  const points = Array.from({ length: SURROUND_POINTS }, (_, i) => step * ((i + 0.5) / SURROUND_POINTS - 0.5))
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      let sum = 0
      for (const dy of points) for (const dx of points) sum += light(c * step + dx, r * step + dy)
      grid[r * columns + c] = sum / points.length ** 2
    }
  const shape = scan.scanner.flareShape ?? 'tent'
  if (shape === 'even') {
    const mean = grid.reduce((sum, light) => sum + light, 0) / grid.length
    return () => mean
  }
  // Boxes run over each other: two make a tent, five a bell within a percent. What lies at the rim goes on beyond it, once and for all.
  const passes = shape === 'tent' ? 2 : 5
  const reach = Math.max(1, Math.round(scan.scanner.flareReachMm / step / 2))
  const pad = passes * reach
  const wide = columns + 2 * pad
  const high = rows + 2 * pad
  const inside = (i: number, count: number) => Math.min(count - 1, Math.max(0, i - pad))
  let padded = new Float64Array(wide * high)
  for (let r = 0; r < high; r++)
    for (let c = 0; c < wide; c++) padded[r * wide + c] = grid[inside(r, rows) * columns + inside(c, columns)]!
  for (let pass = 0; pass < passes; pass++) {
    padded = boxed(padded, wide, high, reach, 1, wide)
    padded = boxed(padded, high, wide, reach, wide, 1)
  }
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) grid[r * columns + c] = padded[(r + pad) * wide + c + pad]!
  const perColumn = scan.bedWidthMm / width / step
  const perRow = scan.bedHeightMm / height / step
  return (column: number, row: number) => {
    const x = Math.min(columns - 1.001, (column + 0.5) * perColumn)
    const y = Math.min(rows - 1.001, (row + 0.5) * perRow)
    const c = Math.floor(x)
    const r = Math.floor(y)
    const fx = x - c
    const fy = y - r
    const at = r * columns + c
    const above = grid[at]! * (1 - fx) + grid[at + 1]! * fx
    const below = grid[at + columns]! * (1 - fx) + grid[at + columns + 1]! * fx
    return above * (1 - fy) + below * fy
  }
}

/** Running mean of 2 * reach + 1 along one direction; past the ends the last value goes on. */
function boxed(from: Float64Array, length: number, count: number, reach: number, stride: number, jump: number) {
  const out = new Float64Array(from.length)
  for (let line = 0; line < count; line++) {
    const start = line * jump
    const at = (i: number) => from[start + Math.min(length - 1, Math.max(0, i)) * stride]!
    let sum = 0
    for (let i = -reach; i <= reach; i++) sum += at(i)
    for (let i = 0; i < length; i++) {
      out[start + i * stride] = sum / (2 * reach + 1)
      sum += at(i + reach + 1) - at(i - reach)
    }
  }
  return out
}
