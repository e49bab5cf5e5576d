import { checkedFilm, type Disc, type Dots, type Film, type Rectangle } from './film.js'
import { gaussianCdf } from './gaussian.js'
import { printedRaster } from './printed-raster.js'
import { seededRandom } from './random.js'

/** Beyond this many sigma an edge is done: 1.2e-6 of the ink is left, 5e-6 D at D 4. */
const REACH_SIGMA = 4.75
/** Edge tables run over z = -8..8 in steps of 1/256; linear between: within 5e-7. */
const TABLE_REACH = 8
const TABLE_STEPS = 256
const TABLE_LAST = 2 * TABLE_REACH * TABLE_STEPS
/** Sides of the noise textures, lattice points; a power of two so that they wrap. */
const TEXTURE = 256

/** Where on the film, in mm, and how far the piece reaches to either side along u and v. */
export interface FilmPiece {
  readonly u: number
  readonly v: number
  readonly reachU: number
  readonly reachV: number
}

/** Ink of one piece of the film: either all the same, or filled in sample by sample. */
export interface PieceInk {
  /** Transmittance when the same everywhere in the piece, else null. */
  readonly light: number | null
  /** `even`: one ink amount (0 or more), rippled only by banding or grain, so a coarse look is enough. */
  readonly even: boolean
  /** Whether edges are cut in light within a sample (ink spread 0): wants the cell-average kernel. */
  readonly hard: boolean
  /** Writes transmittances of `count` samples on a line from (u, v) in steps of (du, dv). */
  fill(out: Float64Array, offset: number, count: number, u: number, v: number, du: number, dv: number): void
}

export interface InkField {
  piece(at: FilmPiece): PieceInk
  /** The same field knowing only what can be seen in a larger piece: quicker for the pieces inside it. */
  within(at: FilmPiece): InkField
}

/**
 * A film made ready for looking at: transmittance of any sample, exact for sums of Gaussian-spread rectangles.
 * @param cellMm side of the square sample cell
 * @param turnDegrees turn of the film's axes against the cell's sides: needed only where ink spread is 0,
 *   where a sample is the average light over its cell
 */
export function inkField(film: Film, cellMm: number, turnDegrees: number, seed: number): InkField {
  checkedFilm(film)
  const hard = film.inkSpreadUm === 0
  const sigma = film.inkSpreadUm / 1000
  const base = 10 ** -film.baseDensity
  const full = 10 ** -(film.baseDensity + film.netDensity)
  const decay = film.netDensity * Math.LN10
  const rag = film.raggedness
  // On a lattice point the wander's deviation is 1.5 times the told one (`sampleTexture`): four of those.
  const ragReach = rag === undefined ? 0 : (6 * rag.rmsUm) / 1000
  const reach = (hard ? cellMm : REACH_SIGMA * sigma) + ragReach
  const ripple = rippleOf(film, seed)
  const wander = wanderOf(film, seed)
  const tables = new Map<number, RadialTable>()
  const shapes = film.shapes.map(shape => {
    // In light the shares of T add; in ink the shares of ink add.
    const ink = shape.ink ?? 1
    const weight = hard ? (ink < 0 ? -(lightOf(-ink) - base) : lightOf(ink) - base) : ink
    if (shape.kind === 'rectangle') return rectanglePart(shape, weight, reach, hard ? cellMm : null, turnDegrees, sigma)
    const table = tables.get(shape.radius) ?? radialTable(shape.radius, reach, hard ? cellMm : null, sigma)
    tables.set(shape.radius, table)
    return shape.kind === 'disc' ? discPart(shape, weight, reach, table) : dotsPart(shape, weight, table)
  })
  const printed = (film.printed ?? []).map(raster => printedRaster(raster, film.inkSpreadUm))

  function lightOf(ink: number): number {
    return base * Math.exp(-decay * ink)
  }

  // Light by ink amount 0..1.25 (rippled) in steps of 1/4096, linear between: within 6e-7 of itself at D 4.
  const steps = 4096
  const most = 1.25
  const lights = Float64Array.from({ length: steps * most + 2 }, (_, i) => lightOf(i / steps))

  function finish(out: Float64Array, offset: number, count: number, u: number, v: number, du: number, dv: number) {
    // The ripple is smooth: it is asked every few samples and drawn straight between.
    const stride = ripple === null ? count : Math.max(1, Math.floor(ripple.smoothMm / Math.sqrt(du * du + dv * dv)))
    for (let start = 0; start < count; start += stride) {
      const stop = Math.min(count, start + stride)
      let raise = 1
      let change = 0
      if (ripple !== null && anyInk(out, offset + start, offset + stop)) {
        raise = 1 + ripple.at(u + du * start, v + dv * start)
        if (stride > 1) change = (1 + ripple.at(u + du * (start + stride), v + dv * (start + stride)) - raise) / stride
      }
      for (let i = offset + start; i < offset + stop; i++) {
        if (hard) {
          const lit = base + out[i]! * (raise === 1 ? 1 : (lightOf(raise) - base) / (full - base))
          out[i] = Math.max(lightOf(most), lit)
        } else {
          const ink = out[i]! > 1 ? raise : out[i]! * raise
          const at = Math.min(most, Math.max(0, ink)) * steps
          const k = at | 0
          const low = lights[k]!
          out[i] = low + (lights[k + 1]! - low) * (at - k)
        }
        raise += change
      }
    }
  }

  const fieldOf = (parts: readonly Part[]): InkField => ({
    within(at) {
      return fieldOf(parts.filter(part => part.look(at) !== 0))
    },
    piece(at) {
      let constant = 0
      const varying: Filler[] = []
      for (const part of parts) {
        const seen = part.look(at)
        if (typeof seen === 'number') constant += seen
        else varying.push(seen)
      }
      // Sums of floats such as 0.3 + 0.7 must not make ink out of nothing.
      if (Math.abs(constant) < 1e-12) constant = 0
      const even = varying.length === 0
      const known = even && (ripple === null || constant <= 0)
      const light = hard ? Math.max(full, base + constant) : lightOf(Math.min(1, Math.max(0, constant)))
      return {
        light: known ? light : null,
        even,
        hard: hard && !even,
        fill(out, offset, count, u, v, du, dv) {
          out.fill(constant, offset, offset + count)
          if (wander === null) for (const add of varying) add(out, offset, count, u, v, du, dv)
          else if (!even)
            for (let i = 0; i < count; i++) {
              const pu = u + du * i
              const pv = v + dv * i
              const shiftU = wander(pu, pv, 0)
              const shiftV = wander(pu, pv, 1)
              for (const add of varying) add(out, offset + i, 1, pu + shiftU, pv + shiftV, du, dv)
            }
          finish(out, offset, count, u, v, du, dv)
        },
      }
    },
  })
  return fieldOf([...shapes, ...printed])
}

type Filler = (out: Float64Array, offset: number, count: number, u: number, v: number, du: number, dv: number) => void

interface Part {
  /** The shape's share when it is the same all over the piece, else what adds it up. */
  look(at: FilmPiece): number | Filler
}

const gaussianTable = Float64Array.from({ length: TABLE_LAST + 2 }, (_, i) =>
  gaussianCdf(i / TABLE_STEPS - TABLE_REACH),
)

/** Share of a cell beyond a straight edge whose normal is turned by `degrees`: two boxes, closed form. */
function cellTable(degrees: number): Float64Array {
  const c = Math.abs(Math.cos((degrees * Math.PI) / 180))
  const s = Math.abs(Math.sin((degrees * Math.PI) / 180))
  const wide = Math.max(c, s)
  const narrow = Math.min(c, s)
  const square = (t: number) => (t > 0 ? (t * t) / 2 : 0)
  return Float64Array.from({ length: TABLE_LAST + 2 }, (_, i) => {
    // z = 8 stands for one cell side.
    const x = (i / TABLE_STEPS - TABLE_REACH) / TABLE_REACH
    if (narrow < 1e-6) return Math.min(1, Math.max(0, x / wide + 0.5))
    const h = wide / 2
    const g = narrow / 2
    return (square(x + h + g) - square(x + h - g) - square(x - h + g) + square(x - h - g)) / (wide * narrow)
  })
}

function lookUp(table: Float64Array, z: number): number {
  const at = (z + TABLE_REACH) * TABLE_STEPS
  if (at <= 0) return 0
  if (at >= TABLE_LAST) return 1
  const k = at | 0
  const low = table[k]!
  return low + (table[k + 1]! - low) * (at - k)
}

/** A rectangle with Gaussian-spread or cell-averaged edges, e.g. of ink, of the film itself, of a holder. */
export function rectanglePart(
  shape: Rectangle,
  weight: number,
  reach: number,
  cellMm: number | null,
  turnDegrees: number,
  sigma: number,
): Part {
  const turn = ((shape.turn ?? 0) * Math.PI) / 180
  const c = Math.cos(turn)
  const s = Math.sin(turn)
  const centreU = shape.u + shape.width / 2
  const centreV = shape.v + shape.height / 2
  const halfA = shape.width / 2
  const halfB = shape.height / 2
  const tableA = cellMm === null ? gaussianTable : cellTable(turnDegrees + (shape.turn ?? 0))
  const tableB = cellMm === null ? gaussianTable : cellTable(turnDegrees + (shape.turn ?? 0) + 90)
  const scale = cellMm === null ? 1 / sigma : TABLE_REACH / cellMm
  return {
    look(at) {
      const du = at.u - centreU
      const dv = at.v - centreV
      const a = du * c + dv * s
      const b = -du * s + dv * c
      const reachA = at.reachU * Math.abs(c) + at.reachV * Math.abs(s) + reach
      const reachB = at.reachU * Math.abs(s) + at.reachV * Math.abs(c) + reach
      if (Math.abs(a) >= halfA + reachA || Math.abs(b) >= halfB + reachB) return 0
      const lowA = a + halfA < reachA
      const highA = halfA - a < reachA
      const lowB = b + halfB < reachB
      const highB = halfB - b < reachB
      if (!lowA && !highA && !lowB && !highB) return weight
      const onlyA = !lowB && !highB && lowA !== highA
      const onlyB = !lowA && !highA && lowB !== highB
      if (onlyA || onlyB) {
        // One straight edge in sight: the usual case, and one look-up a sample.
        const table = onlyA ? tableA : tableB
        const sign = onlyA ? (lowA ? 1 : -1) : lowB ? 1 : -1
        const pu = (onlyA ? c : -s) * sign * scale
        const pv = (onlyA ? s : c) * sign * scale
        const p0 = (onlyA ? halfA : halfB) * scale - pu * centreU - pv * centreV
        return (out, offset, count, u, v, stepU, stepV) => {
          const z0 = p0 + pu * u + pv * v
          const dz = pu * stepU + pv * stepV
          for (let i = 0; i < count; i++) {
            const zi = (z0 + dz * i + TABLE_REACH) * TABLE_STEPS
            if (zi <= 0) continue
            if (zi >= TABLE_LAST) {
              out[offset + i]! += weight
              continue
            }
            const k = zi | 0
            const low = table[k]!
            out[offset + i]! += weight * (low + (table[k + 1]! - low) * (zi - k))
          }
        }
      }
      return (out, offset, count, u, v, stepU, stepV) => {
        const a0 = ((u - centreU) * c + (v - centreV) * s) * scale
        const da = (stepU * c + stepV * s) * scale
        const b0 = (-(u - centreU) * s + (v - centreV) * c) * scale
        const db = (-stepU * s + stepV * c) * scale
        const ha = halfA * scale
        const hb = halfB * scale
        for (let i = 0; i < count; i++) {
          const za = a0 + da * i
          const zb = b0 + db * i
          const alongA = (lowA ? lookUp(tableA, za + ha) : 1) - (highA ? lookUp(tableA, za - ha) : 0)
          if (alongA === 0) continue
          const alongB = (lowB ? lookUp(tableB, zb + hb) : 1) - (highB ? lookUp(tableB, zb - hb) : 0)
          out[offset + i]! += weight * alongA * alongB
        }
      }
    },
  }
}

/** Ink of a spread disc by distance from its centre: flat up to `from`, tabled to `reach`, nothing beyond. */
interface RadialTable {
  readonly values: Float64Array
  readonly from: number
  readonly perMm: number
  readonly reach: number
}

function radialTable(radius: number, reach: number, cellMm: number | null, sigma: number): RadialTable {
  const size = 1024
  const from = Math.max(0, radius - reach)
  const end = radius + reach
  const values = Float64Array.from({ length: size + 2 }, (_, i) => {
    const r = from + ((end - from) * i) / size
    return cellMm === null ? spreadDisc(radius, sigma, r) : Math.min(1, Math.max(0, (radius - r) / cellMm + 0.5))
  })
  return { values, from, perMm: size / (end - from), reach: end }
}

/**
 * Disc of radius R under a Gaussian, at distance r from its centre: chords weighted by the Gaussian, by Simpson's rule.
 * x = R sin(t) takes the infinite slope out of the ends of the chords.
 */
function spreadDisc(radius: number, sigma: number, r: number): number {
  // So far out nothing of it is left, and no chord is there to weigh; wandering edges are asked about such places.
  if (r - 6 * sigma >= radius) return 0
  const low = Math.asin(Math.max(-1, (r - 6 * sigma) / radius))
  const high = Math.asin(Math.min(1, Math.max(-1, (r + 6 * sigma) / radius)))
  // A step of at most about half a sigma along the chord, and fine where a large disc's chords close.
  const n = radius < 16 * sigma ? 64 : 256
  const step = (high - low) / n
  let sum = 0
  for (let i = 0; i <= n; i++) {
    const t = low + step * i
    const chord = (radius * Math.cos(t)) / sigma
    const x = (radius * Math.sin(t) - r) / sigma
    const weight = i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2
    sum += weight * Math.exp((-x * x) / 2) * (2 * lookUp(gaussianTable, chord) - 1) * chord
  }
  return (sum * step) / (3 * Math.sqrt(2 * Math.PI))
}

function discPart(shape: Disc, weight: number, reach: number, table: RadialTable): Part {
  const { values, from, perMm } = table
  const reachSquared = table.reach * table.reach
  return {
    look(at) {
      const du = Math.abs(at.u - shape.u)
      const dv = Math.abs(at.v - shape.v)
      if (Math.hypot(Math.max(0, du - at.reachU), Math.max(0, dv - at.reachV)) >= table.reach) return 0
      if (Math.hypot(du + at.reachU, dv + at.reachV) <= shape.radius - reach) return weight
      return (out, offset, count, u, v, stepU, stepV) => {
        for (let i = 0; i < count; i++) {
          const x = u + stepU * i - shape.u
          const y = v + stepV * i - shape.v
          const square = x * x + y * y
          if (square >= reachSquared) continue
          const z = Math.max(0, Math.sqrt(square) - from) * perMm
          const k = z | 0
          const low = values[k]!
          out[offset + i]! += weight * (low + (values[k + 1]! - low) * (z - k))
        }
      }
    },
  }
}

function dotsPart(shape: Dots, weight: number, table: RadialTable): Part {
  const { values, from, perMm } = table
  const reachSquared = table.reach * table.reach
  const turn = (shape.angle * Math.PI) / 180
  const c = Math.cos(turn)
  const s = Math.sin(turn)
  const pitch = shape.pitch
  const centreU = shape.u + shape.width / 2
  const centreV = shape.v + shape.height / 2
  // Whole dots only: centres stay a radius inside the rectangle.
  const insideU = shape.width / 2 - shape.radius
  const insideV = shape.height / 2 - shape.radius
  const near = Math.max(0, Math.ceil(table.reach / pitch - 0.5))
  return {
    look(at) {
      const du = Math.abs(at.u - centreU)
      const dv = Math.abs(at.v - centreV)
      if (du - at.reachU >= insideU + table.reach || dv - at.reachV >= insideV + table.reach) return 0
      const inner = du + at.reachU + table.reach + pitch < insideU && dv + at.reachV + table.reach + pitch < insideV
      return (out, offset, count, u, v, stepU, stepV) => {
        for (let i = 0; i < count; i++) {
          const x = u + stepU * i - centreU
          const y = v + stepV * i - centreV
          const a = (x * c + y * s) / pitch
          const b = (-x * s + y * c) / pitch
          const nearestA = Math.round(a)
          const nearestB = Math.round(b)
          let sum = 0
          for (let m = nearestA - near; m <= nearestA + near; m++) {
            const da = (a - m) * pitch
            const square = da * da
            if (square >= reachSquared) continue
            for (let n = nearestB - near; n <= nearestB + near; n++) {
              const db = (b - n) * pitch
              const total = square + db * db
              if (total >= reachSquared) continue
              if (!inner) {
                const dotU = (m * c - n * s) * pitch
                const dotV = (m * s + n * c) * pitch
                if (Math.abs(dotU) > insideU || Math.abs(dotV) > insideV) continue
              }
              const z = Math.max(0, Math.sqrt(total) - from) * perMm
              const k = z | 0
              const low = values[k]!
              sum += low + (values[k + 1]! - low) * (z - k)
            }
          }
          out[offset + i]! += weight * sum
        }
      }
    },
  }
}

interface Ripple {
  /** Share by which the ink is raised at a place. */
  at(u: number, v: number): number
  /** Length over which it may be taken as straight, mm. */
  readonly smoothMm: number
}

/** Banding along the feed plus grain; null when there is neither. */
function rippleOf(film: Film, seed: number): Ripple | null {
  const { banding, grain } = film
  if ((banding === undefined || banding.amplitude === 0) && (grain === undefined || grain.rms === 0)) return null
  const texture = grain === undefined ? null : noiseTexture(seed ^ 0x51ed270b)
  const perMm = grain === undefined ? 0 : 1000 / grain.correlationUm
  const rms = grain?.rms ?? 0
  const amplitude = banding?.amplitude ?? 0
  const wave = banding === undefined ? 0 : (2 * Math.PI) / banding.pitchMm
  return {
    at: (u, v) =>
      (amplitude === 0 ? 0 : amplitude * Math.sin(wave * v)) +
      (texture === null ? 0 : rms * sampleTexture(texture, u * perMm, v * perMm)),
    smoothMm: Math.min(
      banding === undefined ? Infinity : banding.pitchMm / 24,
      grain === undefined ? Infinity : (0.7 * grain.correlationUm) / 1000,
    ),
  }
}

function anyInk(out: Float64Array, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (Math.abs(out[i]!) > 1e-4) return true
  return false
}

/** Shift of the artwork at a place, mm, along u (0) or v (1); null when edges are straight. */
function wanderOf(film: Film, seed: number): ((u: number, v: number, axis: 0 | 1) => number) | null {
  const rag = film.raggedness
  if (rag === undefined || rag.rmsUm === 0) return null
  const textures = [noiseTexture(seed ^ 0x1b873593), noiseTexture(seed ^ 0x6a09e667)] as const
  const perMm = 1000 / rag.correlationUm
  return (u, v, axis) => (rag.rmsUm / 1000) * sampleTexture(textures[axis], u * perMm, v * perMm)
}

function noiseTexture(seed: number): Float32Array {
  const random = seededRandom(seed)
  return Float32Array.from({ length: TEXTURE * TEXTURE }, () => random.normal())
}

/** Bilinear between lattice points; 1.5 brings the mean variance of the mixture (4/9) back to 1. */
function sampleTexture(texture: Float32Array, x: number, y: number): number {
  const column = Math.floor(x)
  const row = Math.floor(y)
  const fx = x - column
  const fy = y - row
  const mask = TEXTURE - 1
  const top = (row & mask) * TEXTURE
  const bottom = ((row + 1) & mask) * TEXTURE
  const left = column & mask
  const right = (column + 1) & mask
  const above = texture[top + left]! + (texture[top + right]! - texture[top + left]!) * fx
  const below = texture[bottom + left]! + (texture[bottom + right]! - texture[bottom + left]!) * fx
  return 1.5 * (above + (below - above) * fy)
}
