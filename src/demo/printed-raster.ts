import type { ArtworkBitmap } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'
import { gaussianCdf } from './gaussian.js'
import type { FilmPiece } from './ink-field.js'

/** A 1-bit raster as the printer lays it: each of its ink pixels is a rectangle of ink of the printer's own pitch. */
export interface PrintedRaster {
  /** Its corner on the film, mm; the raster's rows run along u. */
  readonly u: number
  readonly v: number
  readonly raster: ArtworkBitmap
  /** Share of full ink of a printed pixel, 1 unless told. */
  readonly ink?: number
  /** Dot gain: every printed pixel grows by this on each of its sides, um; what grows into a neighbour is not counted twice. Below half a pixel. */
  readonly growUm?: number
}

/** Nodes of the spread ink, a sigma. */
const NODES_A_SIGMA = 2.5
/** Beyond this many sigma an edge is done: 1.2e-6 of the ink is left. */
const REACH_SIGMA = 4.75
/** Nodes a tile's side holds, and tiles kept: 64 MB. A band of a scan meets each of its tiles a few times, then never again. */
const TILE_CELLS = 125
const TILE_NODES = TILE_CELLS + 3
const MOST_TILES = 1000
/** Printer pixels of a cell known to be all ink, no ink, or neither. */
const CELL = 8
const STEPS = 256
const TABLE = Float64Array.from({ length: 2 * 8 * STEPS + 2 }, (_, i) => gaussianCdf(i / STEPS - 8))

/** Adds the ink of a run of samples: `count` of them from (u, v) in steps of (du, dv), mm. */
type Filler = (out: Float64Array, offset: number, count: number, u: number, v: number, du: number, dv: number) => void

/**
 * The ink of a printed raster on the film: share of full ink by area of each printed pixel, spread by a Gaussian.
 * Each pixel's rectangle is summed in closed form (differences of the normal distribution) at nodes 0.4 sigma apart, on the raster's own
 * axes, and drawn between them by cubic B-splines. A B-spline's own spread (variance h^2 / 3) is taken off the Gaussian's before, so that both
 * together are a Gaussian of the asked sigma within 1e-4 of full ink, and nothing aliases: at such nodes the Gaussian lets nothing pass that could.
 * @throws RangeError on a spread that nodes cannot hold or a growth of half a pixel or more
 */
export function printedRaster(printed: PrintedRaster, inkSpreadUm: number): { look(at: FilmPiece): number | Filler } {
  const { raster, ink = 1, growUm = 0 } = printed
  const { width, height, bits, rowBytes } = raster
  if (!(inkSpreadUm >= 2))
    throw new RangeError(`a printed raster needs an ink spread of 2 um or more; got ${inkSpreadUm}`)
  const pixelU = MM_PER_INCH / raster.dpi.across
  const pixelV = MM_PER_INCH / raster.dpi.along
  const grow = growUm / 1000
  if (!(grow >= 0 && grow < Math.min(pixelU, pixelV) / 2))
    throw new RangeError(`growUm must be 0 or more and below half a printed pixel; got ${growUm}`)
  const sigma = inkSpreadUm / 1000
  const step = sigma / NODES_A_SIGMA
  const spread = Math.sqrt(sigma ** 2 - step ** 2 / 3)
  const reach = REACH_SIGMA * sigma
  const tiles = new Map<number, Float32Array | number>()
  const cells = cellStates(raster)
  /** Nodes begin beyond the raster, so that their numbers are not negative. */
  const start = -reach - grow - 4 * step
  const tilesAcross = Math.ceil((width * pixelU - 2 * start) / (TILE_CELLS * step)) + 1

  function isInk(column: number, row: number): boolean {
    if (column < 0 || row < 0 || column >= width || row >= height) return false
    return (bits[row * rowBytes + (column >> 3)]! & (0x80 >> (column & 7))) !== 0
  }

  /** Ink of the nodes along u, of a row of pixels or of two rows that have grown into each other, added up run by run. */
  function lineOf(out: Float64Array, row: number, other: number, u0: number): boolean {
    out.fill(0)
    const from = Math.floor((u0 - reach - grow) / pixelU) - 1
    const to = Math.ceil((u0 + TILE_NODES * step + reach + grow) / pixelU) + 1
    let any = false
    let began: number | null = null
    const edge = (e: number, sign: number) => {
      const z0 = (u0 - e) / spread
      const dz = step / spread
      const first = Math.max(0, Math.ceil((-8 - z0) / dz))
      const last = Math.min(TILE_NODES, Math.ceil((8 - z0) / dz))
      for (let k = first; k < last; k++) {
        const at = (z0 + k * dz + 8) * STEPS
        const i = at | 0
        out[k]! += sign * (TABLE[i]! + (TABLE[i + 1]! - TABLE[i]!) * (at - i))
      }
      for (let k = Math.max(0, last); k < TILE_NODES; k++) out[k]! += sign
    }
    for (let c = from; c <= to; c++) {
      const on = isInk(c, row) || (other !== row && isInk(c, other))
      if (on && began === null) began = c * pixelU - grow
      if (!on && began !== null) {
        any = true
        edge(began, 1)
        edge(c * pixelU + grow, -1)
        began = null
      }
    }
    if (began !== null) {
      any = true
      edge(began, 1)
    }
    return any
  }

  function tileOf(tileU: number, tileV: number): Float32Array | number {
    const key = tileV * tilesAcross + tileU
    const kept = tiles.get(key)
    if (kept !== undefined) return kept
    const u0 = start + (tileU * TILE_CELLS - 1) * step
    const v0 = start + (tileV * TILE_CELLS - 1) * step
    const made = new Float32Array(TILE_NODES * TILE_NODES)
    const line = new Float64Array(TILE_NODES)
    const addSlab = (top: number, bottom: number, row: number, other: number): void => {
      if (!(bottom > top) || bottom < v0 - reach || top > v0 + TILE_NODES * step + reach) return
      if (!lineOf(line, row, other, u0)) return
      const first = Math.max(0, Math.floor((top - reach - v0) / step))
      const last = Math.min(TILE_NODES - 1, Math.ceil((bottom + reach - v0) / step))
      for (let j = first; j <= last; j++) {
        const v = v0 + j * step
        const weight = share((v - top) / spread) - share((v - bottom) / spread)
        if (!(weight > 1e-9)) continue
        for (let i = 0, at = j * TILE_NODES; i < TILE_NODES; i++, at++) made[at]! += weight * line[i]!
      }
    }
    const firstRow = Math.max(0, Math.floor((v0 - reach) / pixelV) - 1)
    const lastRow = Math.min(height - 1, Math.ceil((v0 + TILE_NODES * step + reach) / pixelV) + 1)
    for (let r = firstRow; r <= lastRow; r++) {
      const top = r * pixelV
      addSlab(top + grow, top + pixelV - grow, r, r)
      if (grow > 0) {
        if (r === 0) addSlab(top - grow, top + grow, r, r)
        addSlab(top + pixelV - grow, top + pixelV + grow, r, r + 1)
      }
    }
    let least = Number.POSITIVE_INFINITY
    let most = Number.NEGATIVE_INFINITY
    for (const value of made) {
      if (value < least) least = value
      if (value > most) most = value
    }
    const tile = most - least < 1e-7 ? Math.round(most * 1e6) / 1e6 : made
    if (tiles.size >= MOST_TILES) tiles.delete(tiles.keys().next().value!)
    tiles.set(key, tile)
    return tile
  }

  const fill: Filler = (out, offset, count, u, v, du, dv) => {
    let tile: Float32Array | number = 0
    let tileU = -1
    let tileV = -1
    const endU = width * pixelU - start
    const endV = height * pixelV - start
    for (let n = 0; n < count; n++) {
      const x = u + du * n - printed.u
      const y = v + dv * n - printed.v
      if (!(x > start + 2 * step && y > start + 2 * step && x < endU && y < endV)) continue
      const p = (x - start) / step
      const q = (y - start) / step
      const i = p | 0
      const j = q | 0
      const tu = (i / TILE_CELLS) | 0
      const tv = (j / TILE_CELLS) | 0
      if (tu !== tileU || tv !== tileV) {
        tile = tileOf(tu, tv)
        tileU = tu
        tileV = tv
      }
      if (typeof tile === 'number') {
        out[offset + n]! += ink * tile
        continue
      }
      const s = p - i
      const t = q - j
      const s1 = 1 - s
      const t1 = 1 - t
      const a = s1 * s1 * s1
      const b = 4 + 3 * s * s * (s - 2)
      const c = 4 + 3 * s1 * s1 * (s1 - 2)
      const d = s * s * s
      const at = (j - tv * TILE_CELLS) * TILE_NODES + (i - tu * TILE_CELLS)
      const r1 = at + TILE_NODES
      const r2 = r1 + TILE_NODES
      const r3 = r2 + TILE_NODES
      const sum =
        t1 * t1 * t1 * (a * tile[at]! + b * tile[at + 1]! + c * tile[at + 2]! + d * tile[at + 3]!) +
        (4 + 3 * t * t * (t - 2)) * (a * tile[r1]! + b * tile[r1 + 1]! + c * tile[r1 + 2]! + d * tile[r1 + 3]!) +
        (4 + 3 * t1 * t1 * (t1 - 2)) * (a * tile[r2]! + b * tile[r2 + 1]! + c * tile[r2 + 2]! + d * tile[r2 + 3]!) +
        t * t * t * (a * tile[r3]! + b * tile[r3 + 1]! + c * tile[r3 + 2]! + d * tile[r3 + 3]!)
      out[offset + n]! += (ink * sum) / 36
    }
  }

  return {
    look(at) {
      const near = reach + grow
      const left = Math.floor((at.u - at.reachU - near - printed.u) / pixelU)
      const right = Math.floor((at.u + at.reachU + near - printed.u) / pixelU)
      const top = Math.floor((at.v - at.reachV - near - printed.v) / pixelV)
      const bottom = Math.floor((at.v + at.reachV + near - printed.v) / pixelV)
      const state = cells(left, top, right, bottom)
      return state === 'mixed' ? fill : state === 'ink' ? ink : 0
    },
  }
}

function share(z: number): number {
  const at = (z + 8) * STEPS
  if (at <= 0) return 0
  if (at >= TABLE.length - 1) return 1
  const k = at | 0
  return TABLE[k]! + (TABLE[k + 1]! - TABLE[k]!) * (at - k)
}

/** Tells whether a window of printer pixels holds nothing but ink, none, or may hold both. */
function cellStates(raster: ArtworkBitmap) {
  const { width, height, bits, rowBytes } = raster
  const columns = Math.ceil(width / CELL)
  const rows = Math.ceil(height / CELL)
  // Bit 1: some ink; bit 2: some clear. A cell is a byte wide.
  const states = new Uint8Array(columns * rows)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < columns; c++) {
      const whole = c === columns - 1 ? (0xff << (columns * CELL - width)) & 0xff : 0xff
      const byte = bits[r * rowBytes + c]! & whole
      states[((r / CELL) | 0) * columns + c]! |= (byte !== 0 ? 1 : 0) | (byte !== whole ? 2 : 0)
    }
  return (left: number, top: number, right: number, bottom: number): 'ink' | 'clear' | 'mixed' => {
    if (right < 0 || bottom < 0 || left >= width || top >= height) return 'clear'
    let seen = left < 0 || top < 0 || right >= width || bottom >= height ? 2 : 0
    const c0 = Math.max(0, left) >> 3
    const c1 = Math.min(width - 1, right) >> 3
    const r0 = Math.max(0, top) >> 3
    const r1 = Math.min(height - 1, bottom) >> 3
    for (let r = r0; r <= r1; r++)
      for (let c = c0; c <= c1; c++) {
        seen |= states[r * columns + c]!
        if (seen === 3) return 'mixed'
      }
    return seen === 1 ? 'ink' : 'clear'
  }
}
