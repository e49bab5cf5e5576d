import { type RippleSpectrum, rippleSpectrum } from '../imaging/ripple-spectrum.js'
import { type SolidField, type StripLight, TILE_MM } from '../imaging/solid-field.js'
import { layout, reusedLoops } from '../kernels/profile-loops.js'
import type { LineSpread } from '../model/calibration.js'
import type { DensityEstimate, DensityScan } from '../model/light.js'
import type { Component } from '../model/reading.js'
import type { ReadPatch } from './film-evidence.js'
import { patchDensity } from './patch-density.js'

/** Ink of one large solid in shares of its own mean net density. */
export interface SolidRipple {
  readonly field: SolidField
  /** Net density of the solid (mean light, then log), D. */
  readonly net: number
  /** Null along an axis too short for any band. */
  readonly first: AxisRipple | null
  readonly second: AxisRipple | null
  /** Ink of each whole tile, share of the mean, row by row. */
  readonly tiles: { readonly columns: number; readonly ink: Float64Array; readonly noiseVariance: number }
  /** Standard uncertainty, as a share of any ripple: light scale, black, flare. */
  readonly scale: number
  /** Standard uncertainty of the share of net density from what is not known of the base. */
  readonly base: number
}

export interface AxisRipple {
  readonly spectrum: RippleSpectrum
  /** Turn of the direction on the scan, degrees from the rows towards the columns. */
  readonly direction: number
  readonly lengthMm: number
  readonly widthMm: number
  /** Share of a ripple of this direction's wave that the optics take, and its standard uncertainty as a share of the ripple. */
  readonly blur: number
}

/** The ripples of all large solids that the scanner can see into, and how many it cannot. */
export interface FilmRipple {
  readonly solids: readonly SolidRipple[]
  readonly tooDeep: number
  /**
   * The scanner's own ripple as clear film or open light beside the ink shows it, rms share of the light, across and along; null where none is in view.
   * Streaks of the sensor run along the carriage and ripple across; the carriage and the lamp ripple along.
   */
  readonly scanner: { readonly across: number; readonly along: number } | null
}

/** Finest banding looked for: a few passes of a head's nozzles; below it lie raster and dots, mm. */
const LEAST_PITCH_MM = 0.28
/** A direction this short holds no ten of the finest bands, and of coarser ones too few to average, mm. */
const SHORTEST_MM = 3
/** Coarser than so many pixels, or a wave has no shape left. */
const LEAST_PITCH_PIXELS = 5
/** Where the optics leave less than this share of a wave it is not given back. */
const LEAST_TRANSFER = 0.5
/** Without base in view: clear films take 0.03 to 0.10 D. */
const UNSEEN_BASE = { density: 0.06, standard: 0.03 }
/** The certificate bends the smoothed scale no faster than over so much density, D (calibrate/smooth-scale.ts). */
const SMOOTH_OVER = 1
/** One sample of the mean profile noisier than this share of its light has no logarithm to trust. */
const NOISIEST = 0.3
/** A line spread from the other direction may differ by this much, and an unknown one may be as wide as so many pixels (one sigma). */
const UNKNOWN_SPREAD_PIXELS = 0.6
/** 10-90 % rise width of a Gaussian edge of sigma 1. */
const GAUSSIAN_RISE = 2.5631

/** Ripple of every large solid along both its axes, in shares of its ink. */
export function filmRipple(
  scan: DensityScan,
  fields: readonly SolidField[],
  bases: readonly ReadPatch[],
  clear: SolidField | null,
): FilmRipple {
  const base = baseOf(scan, bases)
  const solids: SolidRipple[] = []
  let tooDeep = 0
  for (const field of fields) {
    const ripple = solidRipple(scan, field, base)
    if (ripple === null) tooDeep++
    else solids.push(ripple)
  }
  return { solids, tooDeep, scanner: clear === null ? null : scannerRipple(clear) }
}

/** A clear area that lies square on the scan: its first axis runs across. */
function scannerRipple(clear: SolidField): FilmRipple['scanner'] {
  const of = ({ strips, stepMm }: StripLight) => {
    const { variance, varianceError } = rippleSpectrum({
      strips,
      stepMm,
      transfer: () => 1,
      leastPitchMm: LEAST_PITCH_MM,
    })
    // Noise alone may leave two errors more.
    return Math.sqrt(Math.max(0, variance) + 2 * varianceError) / clear.light
  }
  return { across: of(clear.first), along: of(clear.second) }
}

function baseOf(scan: DensityScan, bases: readonly ReadPatch[]): { density: number; standard: number } {
  if (bases.length === 0) return UNSEEN_BASE
  const all = bases.map(patch => patchDensity(scan, patch))
  const density = all.reduce((sum, one) => sum + one.density, 0) / all.length
  return { density, standard: all[0]!.standard }
}

/** Null where the scanner cannot see into the solid. */
function solidRipple(
  scan: DensityScan,
  field: SolidField,
  base: { readonly density: number; readonly standard: number },
): SolidRipple | null {
  if (!(field.light > 0)) return null
  const place = {
    column: (1000 * field.area.x) / scan.umPerPixel.across,
    row: (1000 * field.area.y) / scan.umPerPixel.along,
  }
  const code = scan.light.code(field.light)
  const estimate = scan.light.density(code, 0, scan.surround?.(place.column, place.row), [place])
  if (estimate.bound !== null) return null
  // Flare lies on all of the solid alike: what it adds to the mean is taken off every sample.
  const flare = 10 ** -scan.light.density(code, 0).guess - 10 ** -estimate.guess
  const light = field.light - flare
  if (!(light > 0)) return null
  // Ink is averaged along the direction that ripples, light across it: of both directions the deeper mean is nearer to that of the ink.
  const net = Math.max(inkMean(field.first, flare), inkMean(field.second, flare)) - base.density
  if (!(net > 0)) return null
  const axis = (strips: StripLight, lengthMm: number, direction: number) =>
    lengthMm < SHORTEST_MM
      ? null
      : (axisRipple(scan, strips, { flare, net, base: base.density, lengthMm, direction }) ?? 'unseen')
  const first = axis(field.first, field.area.first, field.area.turn)
  const second = axis(field.second, field.area.second, field.area.turn + 90)
  if (first === 'unseen' || second === 'unseen') return null
  const tiles = tilesOf(field, flare, net, base.density)
  return { field, net, first, second, tiles, scale: scaleShare(estimate, net), base: base.standard / net }
}

const loopsOf = reusedLoops()

/** Strips of one solid in the memory of the compiled loops, with their mean. */
function laidOut(strips: readonly Float64Array[]) {
  const m = strips.length
  const n = strips[0]!.length
  const places = layout()
  const at = { rows: places.f64(m * n), mean: places.f64(n) }
  const loops = loopsOf(places.end())
  const row = (k: number) => new Float64Array(loops.memory, at.rows + 8 * k * n, n)
  for (let k = 0; k < m; k++) row(k).set(strips[k]!)
  loops.meanOfRows(at.rows, m, n, at.mean)
  return { m, n, at, loops, row }
}

/** Mean density of the mean of all strips; minus infinity where its light is no more than the flare. */
function inkMean({ strips }: StripLight, flare: number): number {
  const { n, at, loops } = laidOut(strips)
  return loops.meanDensity(at.mean, n, flare)
}

/** Half of a tile's pixels against the other half tells their noise and nothing of the ink, which both see alike. */
function tilesOf({ tiles, area }: SolidField, flare: number, net: number, base: number): SolidRipple['tiles'] {
  const slope = 1 / Math.LN10 / net
  let squares = 0
  for (const { mean, even, odd } of tiles) squares += (((even - odd) / 2 / (mean - flare)) * slope) ** 2
  return {
    columns: Math.floor(area.first / TILE_MM),
    ink: Float64Array.from(tiles, ({ mean }) => (-Math.log10(mean - flare) - base) / net),
    noiseVariance: tiles.length > 0 ? squares / tiles.length : 0,
  }
}

/** What is not known of the light scale, as a share of a ripple. */
function scaleShare(estimate: DensityEstimate, net: number): number {
  const of = (names: readonly string[]) =>
    Math.hypot(...estimate.budget.filter((c: Component) => names.includes(c.name)).map(c => c.standard))
  // Light that is off by an amount, not by a share: a ripple of the rest is off by that share.
  const offset = Math.LN10 * of(['black', 'black drift', 'flare'])
  const tablet = of(['tablet', 'fit'])
  return Math.hypot(offset, tablet / SMOOTH_OVER, tablet / net)
}

function axisRipple(
  scan: DensityScan,
  { strips, stepMm, widthMm }: StripLight,
  of: { flare: number; net: number; base: number; lengthMm: number; direction: number },
): AxisRipple | null {
  const { m, n, at, loops, row } = laidOut(strips)
  const noise = Math.sqrt(loops.rowsNoise(at.rows, at.mean, m, n, of.flare) / n / (m * (m - 1)))
  if (!(noise < NOISIEST) || !Number.isFinite(loops.meanDensity(at.mean, n, of.flare))) return null
  loops.inkShares(at.rows, at.mean, m, n, of.flare, of.base, of.net)
  const shares = strips.map((_, k) => row(k).slice())
  const pixelMm = Math.sqrt(scan.umPerPixel.across * scan.umPerPixel.along) / 1000
  const optics = opticsOf(scan, of.direction)
  const box = (frequency: number) => sinc(frequency * stepMm)
  const transfer = (frequency: number) => Math.max(LEAST_TRANSFER, box(frequency) * optics.transfer(frequency))
  const spectrum = rippleSpectrum({
    strips: shares,
    stepMm,
    transfer,
    leastPitchMm: Math.max(LEAST_PITCH_MM, LEAST_PITCH_PIXELS * pixelMm),
  })
  const frequency = spectrum.line?.frequency ?? 0
  const lost = -Math.log(Math.min(1, optics.transfer(frequency)))
  return {
    spectrum,
    direction: of.direction,
    lengthMm: of.lengthMm,
    widthMm,
    blur: 2 * lost * optics.doubt,
  }
}

/** What the scanner's optics leave of a wave along a direction, and how well its width is known (share). */
function opticsOf(
  scan: DensityScan,
  direction: number,
): { readonly transfer: (frequency: number) => number; readonly doubt: number } {
  const { across, along } = scan.light.lineSpread
  const cos = Math.abs(Math.cos((direction * Math.PI) / 180))
  const sin = Math.abs(Math.sin((direction * Math.PI) / 180))
  const known = across ?? along
  if (known === null) {
    // Only the pixel itself is sure to be there.
    const sigma = (UNKNOWN_SPREAD_PIXELS * Math.max(scan.umPerPixel.across, scan.umPerPixel.along)) / 1000
    return { transfer: f => Math.exp(-2 * (Math.PI * sigma * f) ** 2), doubt: 1 / 2 }
  }
  const doubt = Math.max(...[across ?? known, along ?? known].map(s => s.riseWidthExpanded / 2 / s.riseWidth))
  const a = modulation(across ?? known)
  const b = modulation(along ?? known)
  return { transfer: f => a(f * cos) * b(f * sin), doubt }
}

/** Modulus of a line spread's transform: cycles/mm to 0..1. */
function modulation({ weights, stepUm, riseWidth }: LineSpread): (frequency: number) => number {
  if (weights.length === 0) return f => Math.exp(-2 * ((Math.PI * riseWidth * f) / GAUSSIAN_RISE / 1000) ** 2)
  const total = weights.reduce((sum, w) => sum + w, 0)
  return frequency => {
    // Turned on from weight to weight instead of a cosine each: a spectrum asks for thousands of frequencies.
    const angle = (2 * Math.PI * frequency * stepUm) / 1000
    const turnCos = Math.cos(angle)
    const turnSin = Math.sin(angle)
    let atCos = 1
    let atSin = 0
    let cos = 0
    let sin = 0
    for (let i = 0; i < weights.length; i++) {
      cos += weights[i]! * atCos
      sin += weights[i]! * atSin
      const next = atCos * turnCos - atSin * turnSin
      atSin = atSin * turnCos + atCos * turnSin
      atCos = next
    }
    return Math.min(1, Math.hypot(cos, sin) / total)
  }
}

function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x)
}
