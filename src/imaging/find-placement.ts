import type { PlaneMap } from './fit-plane-map.js'
import { type ComplexPlane, complexPlane, transformPlane } from './fourier-plane.js'

/** A picture on an even grid: `columns x rows`, row by row, 0 where there is nothing. */
export interface GridPicture {
  readonly columns: number
  readonly rows: number
  readonly values: Float32Array
  /** Place of the first cell's centre and the distance of the cells, um. */
  readonly x0: number
  readonly y0: number
  readonly dx: number
  readonly dy: number
}

/** A way in which the second picture may lie: `map` takes um of the first to um of the second. */
export interface PossiblePlacement {
  readonly map: PlaneMap
  readonly mirrored: boolean
  /** Correlation of the two, their broad parts taken off: 1 when one is the other. */
  readonly correlation: number
}

/** Side of the square that the transforms run on. */
const SIZE = 256
/** The longer side of the larger picture takes this many cells, so that nothing wraps round on to itself. */
const SIDE_CELLS = 120
/** Angles of the spectrum over half a turn, and the rings it is read on (cycles a square). */
const ANGLES = 360
const RINGS = { from: 6, to: 100, step: 2 }
/** Turns looked at for each of mirrored and not; each stands for itself and itself upside down. */
const TURNS = 6
/** Peaks of the correlation closer than this, in angles, are one. */
const TURN_APART = 5
/** A correlation that no other film and no other turn reaches: the less likely turns need not be tried. */
const SURE = 0.6
/** Cells over which the broad part is averaged. */
const BROAD = 4

/**
 * Ways in which one picture may lie in the other at any turn, mirrored or not, best first. The turn comes from the power spectra, which
 * a shift does not change; the shift from the correlation (Reddy & Chatterji, IEEE Trans. Image Process. 5, 1266, 1996, without their
 * search for scale). Good to about a cell of 1/120 of the longer side and to a degree.
 */
export function findPlacement(a: GridPicture, b: GridPicture): PossiblePlacement[] {
  const longest = Math.max(a.columns * a.dx, a.rows * a.dy, b.columns * b.dx, b.rows * b.dy)
  const cell = longest / SIDE_CELLS
  const first = squareOf(a, cell)
  const second = squareOf(b, cell)
  const rings = ringsOf(first)
  const others = ringsOf(second)
  const found: PossiblePlacement[] = []
  const detail = detailOf(first)
  const energy = Math.sqrt(squares(detail))
  const spectrum = spectrumOf(detail)
  const turns = [false, true].map(mirrored => ({ mirrored, turns: likelyTurns(rings, others, mirrored) }))
  for (let k = 0; k < TURNS; k++) {
    for (const { mirrored, turns: likely } of turns)
      for (const half of [0, Math.PI]) {
        if (likely[k] === undefined) continue
        const turn = likely[k]! + half
        const other = detailOf(turnedBack(second, turn, mirrored))
        const size = Math.sqrt(squares(other))
        const { x, y, height } = peakOf(spectrum, spectrumOf(other))
        found.push({
          map: mapOf(a, b, { turn, mirrored, x: x * cell, y: y * cell }),
          mirrored,
          correlation: energy > 0 && size > 0 ? height / (energy * size) : 0,
        })
      }
    if (found.some(({ correlation }) => correlation >= SURE)) break
  }
  return found.sort((p, q) => q.correlation - p.correlation)
}

/** The picture's middle in the middle of a square of cells, averaged over each cell. */
function squareOf(picture: GridPicture, cell: number): Float64Array {
  const sums = new Float64Array(SIZE * SIZE)
  const counts = new Float64Array(SIZE * SIZE)
  const { columns, rows, dx, dy } = picture
  for (let r = 0; r < rows; r++) {
    const row = Math.floor(((r - (rows - 1) / 2) * dy) / cell + SIZE / 2)
    for (let c = 0; c < columns; c++) {
      const at = row * SIZE + Math.floor(((c - (columns - 1) / 2) * dx) / cell + SIZE / 2)
      sums[at]! += picture.values[r * columns + c]!
      counts[at]! += 1
    }
  }
  for (let i = 0; i < sums.length; i++) if (counts[i]! > 0) sums[i]! /= counts[i]!
  return sums
}

/** What is left of a picture when its broad part is taken off. */
function detailOf(square: Float64Array): Float64Array {
  const across = boxed(square, 1, SIZE)
  const broad = boxed(across, SIZE, 1)
  return square.map((value, i) => value - broad[i]!)
}

function boxed(values: Float64Array, step: number, jump: number): Float64Array {
  const out = new Float64Array(values.length)
  for (let line = 0; line < SIZE; line++) {
    let sum = 0
    for (let i = 0; i < BROAD; i++) sum += values[line * jump + i * step]!
    for (let i = 0; i < SIZE; i++) {
      if (i + BROAD < SIZE) sum += values[line * jump + (i + BROAD) * step]!
      if (i - BROAD - 1 >= 0) sum -= values[line * jump + (i - BROAD - 1) * step]!
      out[line * jump + i * step] = sum / (2 * BROAD + 1)
    }
  }
  return out
}

function squares(values: Float64Array): number {
  let sum = 0
  for (const value of values) sum += value * value
  return sum
}

/** Log power of the spectrum by ring and angle, each ring with mean 0 and norm 1. */
function ringsOf(square: Float64Array): Float64Array[] {
  const { re, im } = spectrumOf(detailOf(square))
  const power = new Float64Array(SIZE * SIZE)
  let total = 0
  for (let i = 0; i < power.length; i++) {
    power[i] = re[i]! * re[i]! + im[i]! * im[i]!
    total += power[i]!
  }
  // What lies far below the mean is rounding and rim, not picture.
  const floor = (1e-3 * total) / power.length + 1e-300
  for (let i = 0; i < power.length; i++) power[i] = Math.log(power[i]! + floor)
  const rings: Float64Array[] = []
  for (let radius = RINGS.from; radius <= RINGS.to; radius += RINGS.step) {
    const ring = new Float64Array(ANGLES)
    for (let k = 0; k < ANGLES; k++) {
      const angle = (Math.PI * k) / ANGLES
      const x = (radius * Math.cos(angle) + SIZE) % SIZE
      const y = (radius * Math.sin(angle) + SIZE) % SIZE
      ring[k] = bilinear(power, x, y)
    }
    const mean = ring.reduce((sum, v) => sum + v, 0) / ANGLES
    const norm = Math.sqrt(ring.reduce((sum, v) => sum + (v - mean) ** 2, 0)) + 1e-300
    rings.push(ring.map(v => (v - mean) / norm))
  }
  return rings
}

/** Between four cells of a square that goes on from its other side. */
function bilinear(square: Float64Array, x: number, y: number): number {
  const c = Math.floor(x)
  const r = Math.floor(y)
  const fx = x - c
  const fy = y - r
  const at = (row: number, column: number) => square[(row % SIZE) * SIZE + (column % SIZE)]!
  return (1 - fy) * ((1 - fx) * at(r, c) + fx * at(r, c + 1)) + fy * ((1 - fx) * at(r + 1, c) + fx * at(r + 1, c + 1))
}

/** Turns (radians, half a turn open) by which the second spectrum looks most like the first. */
function likelyTurns(rings: readonly Float64Array[], others: readonly Float64Array[], mirrored: boolean): number[] {
  const likeness = new Float64Array(ANGLES)
  for (let shift = 0; shift < ANGLES; shift++) {
    let sum = 0
    for (let ring = 0; ring < rings.length; ring++) {
      const own = rings[ring]!
      const other = others[ring]!
      for (let k = 0; k < ANGLES; k++) {
        // What lies at angle k of the first lies at k + shift of the second; mirrored, angles run the other way.
        const there = ((mirrored ? 2 * ANGLES - k : k) + shift) % ANGLES
        sum += own[k]! * other[there]!
      }
    }
    likeness[shift] = sum
  }
  const order = Array.from(likeness.keys()).sort((p, q) => likeness[q]! - likeness[p]!)
  const taken: number[] = []
  for (const shift of order) {
    if (taken.length === TURNS) break
    const apart = (other: number) => {
      const d = Math.abs(shift - other)
      return Math.min(d, ANGLES - d)
    }
    if (taken.every(other => apart(other) >= TURN_APART)) taken.push(shift)
  }
  return taken.map(shift => (Math.PI * shift) / ANGLES)
}

/** The second picture as it looks with a turn and a mirror taken back about its middle. */
function turnedBack(square: Float64Array, turn: number, mirrored: boolean): Float64Array {
  const out = new Float64Array(SIZE * SIZE)
  const cos = Math.cos(turn)
  const sin = Math.sin(turn)
  const middle = SIZE / 2 - 0.5
  for (let r = 0; r < SIZE; r++)
    for (let c = 0; c < SIZE; c++) {
      const u = c - middle
      const v = (r - middle) * (mirrored ? -1 : 1)
      const x = middle + u * cos - v * sin
      const y = middle + u * sin + v * cos
      if (!(x >= 0 && y >= 0 && x < SIZE - 1 && y < SIZE - 1)) continue
      const column = Math.floor(x)
      const row = Math.floor(y)
      const fx = x - column
      const fy = y - row
      const at = row * SIZE + column
      out[r * SIZE + c] =
        (1 - fy) * ((1 - fx) * square[at]! + fx * square[at + 1]!) +
        fy * ((1 - fx) * square[at + SIZE]! + fx * square[at + SIZE + 1]!)
    }
  return out
}

function spectrumOf(square: Float64Array): ComplexPlane {
  const plane = complexPlane(SIZE)
  plane.re.set(square)
  transformPlane(plane, false)
  return plane
}

/** By how much the second must be moved to lie on the first, cells, and how well they then agree. */
function peakOf(a: ComplexPlane, b: ComplexPlane): { x: number; y: number; height: number } {
  const product = complexPlane(SIZE)
  const { re, im } = product
  for (let i = 0; i < re.length; i++) {
    re[i] = a.re[i]! * b.re[i]! + a.im[i]! * b.im[i]!
    im[i] = a.im[i]! * b.re[i]! - a.re[i]! * b.im[i]!
  }
  transformPlane(product, true)
  let best = 0
  for (let i = 1; i < re.length; i++) if (re[i]! > re[best]!) best = i
  const signed = (k: number) => (k > SIZE / 2 ? k - SIZE : k)
  return { x: signed(best % SIZE), y: signed(Math.floor(best / SIZE)), height: re[best]! }
}

/** `x`, `y`: what takes the second picture, turned back about its middle, on to the first, um. */
function mapOf(
  a: GridPicture,
  b: GridPicture,
  { turn, mirrored, x, y }: { turn: number; mirrored: boolean; x: number; y: number },
): PlaneMap {
  const cos = Math.cos(turn)
  const sin = Math.sin(turn)
  const flip = mirrored ? -1 : 1
  const middle = (p: GridPicture) => ({
    x: p.x0 + ((p.columns - 1) / 2) * p.dx,
    y: p.y0 + ((p.rows - 1) / 2) * p.dy,
  })
  const from = middle(a)
  const to = middle(b)
  // second = to + R F (first - from - move)
  const xx = cos
  const yx = sin
  const xy = -sin * flip
  const yy = cos * flip
  const u = from.x + x
  const v = from.y + y
  return { xx, xy, yx, yy, x0: to.x - xx * u - xy * v, y0: to.y - yx * u - yy * v }
}
