import { fitRobustSurface, fitSurface, type Grid, type SurfaceTerm, surfaceAt } from '../imaging/fit-surface.js'
import { labelComponents } from '../imaging/label-components.js'
import { median } from '../imaging/robust.js'
import type { FlatField } from '../model/calibration.js'
import type { Dpi, PixelPoint } from '../model/geometry.js'
import { MM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { Channel, OpenScan } from '../model/scan.js'
import { type PageSurvey, pageSurvey } from './page-survey.js'

/** A scan of the bare glass, or of an even film on it. */
export interface FlatScan {
  readonly scan: OpenScan
  readonly sha256: string
}

/** A flat scan looked at once; its codes become light when the curve is known. */
export interface FlatSurvey {
  readonly sha256: string
  readonly survey: PageSurvey
  readonly dpi: Dpi
  readonly widthMm: number
  readonly heightMm: number
  /** Codes of small windows spread over the page, for what block means do not show. */
  readonly samples: readonly { readonly column: number; readonly row: number; readonly codes: Uint16Array }[]
}

/** The setting a flat scan has to share with the tablet. */
export interface FlatSetting {
  readonly dpi: Dpi
  readonly channel: Channel
  /** Resolution that wins over the file's. */
  readonly told: number | undefined
}

/** Where on its own scan the tablet saw open light, and where that scan lies on the flat scan's window. */
export interface TabletPlace {
  readonly widthMm: number
  readonly heightMm: number
  readonly dpi: Dpi
  readonly open: readonly PixelPoint[]
}

/** Blocks are a sixtieth of the shorter side, within these, mm: dust spoils single blocks, and fall-off is far smoother. */
const BLOCK_MM = { least: 0.4, most: 1 }
const BLOCKS_A_SIDE = 60
/** Fewer usable blocks, or a side shorter than this, mm, show no map. */
const FEWEST_BLOCKS = 400
const LEAST_SIDE_MM = 20
/** Blocks with more clipped pixels than this are clipped, and more such blocks than the other are not dust or hot pixels. */
const CLIPPED_PIXELS = 0.01
const CLIPPED_BLOCKS = 0.005
/** Windows for structure: this many a side, this many pixels each way. */
const SAMPLES_A_SIDE = 6
const SAMPLE_PX = 40
/** 8-bit data blown up to 16 has codes that are multiples of 256 or 257. */
const EIGHT_BIT_STEP = 256
/**
 * Pixels of even film differ by noise only, below this share of their light (one sigma), or this share of what black dots on clear film of
 * that mean light would: sqrt((1 - T) / T). Blur leaves a tint more than that.
 */
const MOST_GRAIN = 0.03
const GRAIN_OF_DOTS = 0.15
/** The map's order: a lamp's fall to its ends (x^4 too), a tilt, a twist; nothing narrower than a third of the glass. */
const ORDER = 4
/** Blocks further than this from the middle one, D, are a label, a frame or ink, and take no part from the start. */
const FAR_OFF = 0.25
/** A block further than this from the map, D, or six of its deviations, is dust or a scratch. */
const LEAST_OFF = 0.003
const OFF_DEVIATIONS = 6
/** Deviations below this are noise, D. */
const NOISE = 2e-4
/** Light that leaves a smooth map by more than this (rms, 0.5 %), D, is not a lamp's: a film over half the glass leaves a step. */
const MOST_LEFT = 0.002
/** Most of the window that may be left out: in one piece with its rim (frame, label, glass beside the film), and inside. */
const MOST_RIM = 0.4
const MOST_INSIDE = 0.04
/** No flatbed's light varies by more over its glass, D (30 %). */
const MOST_RANGE = 0.155
/** Open light differs from the calibration's by less than this; even the clearest film by more, D. */
const OPEN_BELOW = 0.02
/** Brighter than open light by more is another exposure; a first flat denser than the other is no bare film, D. */
const BRIGHTER = -0.08
const BARE_BELOW = 0.35
/** Two scans are of one window when their sides agree to this, mm and pixels. */
const SAME_SIDE_MM = 0.3
const SAME_SIDE_PX = 2
/**
 * Lateral artefact that nobody measured, standard uncertainty as a share of the density 100 mm from the mid-line. Light crosses the film at the
 * refracted angle, so its path is longer by 1 / cos: 1.3 to 3.1 % at 100 mm for optical paths of 400 to 250 mm and an index of 1.5. Not
 * corrected, so U (k = 2) has to hold all of it.
 */
export const LATERAL_UNKNOWN = 0.0175
/** An even film is itself even to this share of its density (common practice, no source): not the scanner's doing. */
const FILM_EVEN = 0.004
/** Areas the page shows, mm a side and at most so many. */
const AREA_MM = 25
const MOST_AREAS = 12
const FEWEST_AREAS = 4

/**
 * Reads a flat scan once.
 * @throws ProblemError FLAT_OTHER_SETTING, FLAT_CLIPPED, FLAT_TOO_SMALL, RESOLUTION_MISSING
 */
export function surveyFlat({ scan, sha256 }: FlatScan, setting: FlatSetting): FlatSurvey {
  const { header } = scan
  const dpi = setting.told === undefined ? header.dpi : { across: setting.told, along: setting.told }
  if (dpi === null) throw new ProblemError('RESOLUTION_MISSING')
  const other = (what: string) => new ProblemError('FLAT_OTHER_SETTING', what)
  if (!(near(dpi.across, setting.dpi.across) && near(dpi.along, setting.dpi.along)))
    throw other(`${round(dpi.across)} x ${round(dpi.along)} dpi, the tablet ${round(setting.dpi.across)} dpi`)
  if (header.bits !== 16) throw other(`${header.bits} bits a sample, the tablet 16`)
  if (header.channel !== setting.channel) throw other(`channel ${header.channel}, the tablet ${setting.channel}`)
  const mm = { across: MM_PER_INCH / dpi.across, along: MM_PER_INCH / dpi.along }
  const widthMm = header.width * mm.across
  const heightMm = header.height * mm.along
  const side = Math.min(widthMm, heightMm)
  if (!(side >= LEAST_SIDE_MM))
    throw new ProblemError(
      'FLAT_TOO_SMALL',
      `it is ${widthMm.toFixed(0)} x ${heightMm.toFixed(0)} mm; at least ${LEAST_SIDE_MM} mm each way`,
    )
  const blockMm = Math.min(BLOCK_MM.most, Math.max(BLOCK_MM.least, side / BLOCKS_A_SIDE))
  const survey = pageSurvey(scan, Math.max(2, Math.round(blockMm / mm.across)))
  let clipped = 0
  for (const share of survey.fullShare) if (share > CLIPPED_PIXELS) clipped++
  if (!(clipped <= CLIPPED_BLOCKS * survey.fullShare.length))
    throw new ProblemError(
      'FLAT_CLIPPED',
      `${((100 * clipped) / survey.fullShare.length).toFixed(1)} % of it is at the top code 65535`,
    )
  const samples = sampleWindows(scan)
  const step = codeStep(samples.map(sample => sample.codes))
  if (!(step < EIGHT_BIT_STEP)) throw other('8-bit values in a 16-bit file, the tablet has 16')
  return { sha256, survey, dpi, widthMm, heightMm, samples }
}

/**
 * The map of light over the glass, and the lateral artefact where a second, denser film tells it (after Schoenfeld et al., Phys. Med. Biol. 2016).
 * Block means as density, a robust polynomial surface of order 4 through them; dust, scratches, labels and rims are found by their distance
 * from it and left out. Assumes that what lies on the glass is even, and that light varies slowly.
 * @param flats one or more, any order
 * @param light light of a code on the curve
 * @param tablet where the calibration's own open light lay
 * @throws ProblemError FLAT_*
 */
export function flatField(
  flats: readonly FlatSurvey[],
  light: (code: number) => number,
  tablet: TabletPlace,
): FlatField {
  const maps = flats.map(flat => mapOf(flat, light))
  const [first] = maps
  if (first === undefined) throw new RangeError('flatField needs at least one scan')
  for (const map of maps)
    if (!sameWindow(map.flat, first.flat).both)
      throw new ProblemError(
        'FLAT_OTHER_SETTING',
        `the flat scans are of different size: ${sizeOf(first.flat)} and ${sizeOf(map.flat)}`,
      )
  const placed = sameWindow(first.flat, tablet)
  const levelled = maps
    .map(map => ({ ...map, level: levelAt(map, tablet, placed) }))
    .sort((one, other) => one.level - other.level)
  const clearest = levelled[0]!
  const density = clearest.level < OPEN_BELOW ? 0 : clearest.level
  if (!(clearest.level >= BRIGHTER))
    throw new ProblemError(
      'FLAT_OTHER_EXPOSURE',
      `it is ${(100 * (10 ** -clearest.level - 1)).toFixed(0)} % brighter than the tablet's open light`,
    )
  if (!(clearest.level <= BARE_BELOW))
    throw new ProblemError(
      'FLAT_OTHER_EXPOSURE',
      `it reads D ${clearest.level.toFixed(2)}, too dark for bare glass or bare film`,
    )
  const { terms } = clearest
  return {
    scans: levelled.map(({ flat, level }, i) => ({
      sha256: flat.sha256,
      kind: level < OPEN_BELOW ? ('open' as const) : ('film' as const),
      density: i === 0 ? density : Math.max(0, level),
    })),
    widthMm: clearest.flat.widthMm,
    heightMm: clearest.flat.heightMm,
    terms: terms.map(({ across, along, value }) => ({
      across,
      along,
      density: value - (across === 0 && along === 0 ? clearest.level : 0),
    })),
    standard: clearest.standard,
    tested: clearest.tested,
    uniformity: clearest.uniformity,
    maskedShare: clearest.maskedShare,
    lateral: lateralOf(clearest, levelled.at(-1)!, levelled.at(-1)!.level - density),
    tablet: { across: placed.across, along: placed.along },
    areas: clearest.areas,
  }
}

/** Whether two windows have the same width (then columns lie in the same place of the glass) and the same height. */
export function sameWindow(
  one: { readonly widthMm: number; readonly heightMm: number; readonly dpi: Dpi },
  other: { readonly widthMm: number; readonly heightMm: number; readonly dpi: Dpi },
): { readonly across: boolean; readonly along: boolean; readonly both: boolean } {
  const least = Math.min(one.dpi.across, one.dpi.along, other.dpi.across, other.dpi.along)
  const within = SAME_SIDE_MM + (SAME_SIDE_PX * MM_PER_INCH) / least
  const across = Math.abs(one.widthMm - other.widthMm) <= within
  const along = Math.abs(one.heightMm - other.heightMm) <= within
  return { across, along, both: across && along }
}

interface EvenMap {
  readonly flat: FlatSurvey
  readonly grid: Grid
  readonly used: Uint8Array
  readonly terms: readonly SurfaceTerm[]
  readonly standard: number
  readonly tested: FlatField['tested']
  readonly uniformity: FlatField['uniformity']
  readonly maskedShare: number
  readonly areas: FlatField['areas']
}

function mapOf(flat: FlatSurvey, light: (code: number) => number): EvenMap {
  const { survey } = flat
  const grid = gridOf(flat, light)
  const middle = median(Array.from(grid.values as Float64Array).filter(Number.isFinite))
  const valid = new Uint8Array(survey.means.length)
  let count = 0
  for (let i = 0; i < valid.length; i++)
    if (Math.abs((grid.values[i] ?? Number.NaN) - middle) <= FAR_OFF && survey.fullShare[i]! <= CLIPPED_PIXELS) {
      valid[i] = 1
      count++
    }
  tooFew(count, valid.length)
  const grain = grainOf(flat, light, valid)
  const blockNoise = grain / survey.blockPx / Math.LN10
  const robust = fitRobustSurface(grid, valid, ORDER, NOISE)
  refuseSteps(robust.deviation, blockNoise)
  const off = Math.max(LEAST_OFF, OFF_DEVIATIONS * robust.deviation)
  const masked = new Uint8Array(valid.length)
  for (let i = 0; i < valid.length; i++) if (valid[i] === 0 || !(Math.abs(robust.residuals[i]!) <= off)) masked[i] = 1
  refusePrint(masked, survey.columns, survey.rows)
  const used = awayFrom(masked, survey.columns, survey.rows)
  const usedCount = used.reduce((sum: number, u) => sum + u, 0)
  tooFew(usedCount, used.length)
  const terms = fitSurface(grid, used, ORDER)
  const tested = testedPart(flat, used)
  const shown = describe(flat, grid, used, terms)
  if (!(Math.log10((100 + shown.uniformity.greatest) / (100 + shown.uniformity.least)) <= MOST_RANGE))
    throw new ProblemError(
      'FLAT_UNEVEN',
      `from ${shown.uniformity.least.toFixed(0)} to +${shown.uniformity.greatest.toFixed(0)} % of its mean`,
    )
  refuseSteps(shown.standard, blockNoise)
  return { flat, grid, used, terms, tested, maskedShare: 1 - usedCount / used.length, ...shown }
}

function refuseSteps(left: number, blockNoise: number): void {
  if (!(left <= Math.hypot(MOST_LEFT, blockNoise)))
    throw new ProblemError('FLAT_UNEVEN', `${(100 * (10 ** left - 1)).toFixed(1)} % rms off any smooth fall of light`)
}

function tooFew(count: number, all: number): void {
  if (!(count >= FEWEST_BLOCKS && count >= (1 - MOST_RIM) * all))
    throw new ProblemError(
      'FLAT_PRINTED',
      `only ${((100 * count) / all).toFixed(0)} % of the glass is of one even brightness; ${100 * (1 - MOST_RIM)} % is needed`,
    )
}

function gridOf({ survey, widthMm, heightMm, dpi }: FlatSurvey, light: (code: number) => number): Grid {
  const { columns, rows, blockPx, means } = survey
  const block = { across: (blockPx * MM_PER_INCH) / dpi.across, along: (blockPx * MM_PER_INCH) / dpi.along }
  return {
    columns,
    rows,
    values: Float64Array.from(means, code => {
      const seen = light(code)
      return seen > 0 ? -Math.log10(seen) : Number.NaN
    }),
    u: Float64Array.from({ length: columns }, (_, c) => (2 * (c + 0.5) * block.across) / widthMm - 1),
    v: Float64Array.from({ length: rows }, (_, r) => (2 * (r + 0.5) * block.along) / heightMm - 1),
  }
}

/** How much pixels differ, share of their light. A tint is as even as bare film in its means; its pixels are not. */
function grainOf(flat: FlatSurvey, light: (code: number) => number, valid: Uint8Array): number {
  const { columns, rows, blockPx } = flat.survey
  const grains: number[] = []
  const lights: number[] = []
  for (const { column, row, codes } of flat.samples) {
    const c = Math.min(columns - 1, Math.floor((column + SAMPLE_PX / 2) / blockPx))
    const r = Math.min(rows - 1, Math.floor((row + SAMPLE_PX / 2) / blockPx))
    if (valid[r * columns + c] !== 1) continue
    let sum = 0
    let squares = 0
    for (const code of codes) {
      const seen = light(code)
      sum += seen
      squares += seen * seen
    }
    const mean = sum / codes.length
    lights.push(mean)
    grains.push(Math.sqrt(Math.max(0, squares / codes.length - mean * mean)) / Math.max(mean, 1e-6))
  }
  if (grains.length === 0) return 0
  const grain = median(grains)
  const clear = Math.min(1, Math.max(1e-6, median(lights)))
  if (!(grain <= Math.max(MOST_GRAIN, GRAIN_OF_DOTS * Math.sqrt((1 - clear) / clear))))
    throw new ProblemError(
      'FLAT_PRINTED',
      `its pixels differ by ${(100 * grain).toFixed(0)} % from one to the next, as in a tint`,
    )
  return grain
}

/** What is in one piece with the rim may be frame, label or glass beside the film; what lies inside is print when there is much of it. */
function refusePrint(masked: Uint8Array, columns: number, rows: number): void {
  const { groups } = labelComponents(masked, columns, rows)
  let inside = 0
  for (const g of groups) if (g.left > 0 && g.top > 0 && g.right < columns - 1 && g.bottom < rows - 1) inside += g.cells
  const share = inside / masked.length
  if (!(share <= MOST_INSIDE))
    throw new ProblemError(
      'FLAT_PRINTED',
      `${(100 * share).toFixed(0)} % of its inside departs from the rest, as print does`,
    )
}

/** Cells that neither are masked nor touch one that is: what spoils a block reaches into the next. */
function awayFrom(masked: Uint8Array, columns: number, rows: number): Uint8Array {
  const used = new Uint8Array(masked.length)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      let clear = 1
      for (let y = Math.max(0, r - 1); y <= Math.min(rows - 1, r + 1); y++)
        for (let x = Math.max(0, c - 1); x <= Math.min(columns - 1, c + 1); x++)
          if (masked[y * columns + x] === 1) clear = 0
      used[r * columns + c] = clear
    }
  return used
}

/** From the first to the last column, and row, of which half was seen; the flat scan's own rim counts as seen with its neighbour. */
function testedPart({ survey, widthMm, heightMm, dpi }: FlatSurvey, used: Uint8Array): FlatField['tested'] {
  const { columns, rows, blockPx } = survey
  const inColumn = new Float64Array(columns)
  const inRow = new Float64Array(rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      inColumn[c]! += used[r * columns + c]!
      inRow[r]! += used[r * columns + c]!
    }
  const span = (counts: Float64Array, blockMm: number, endMm: number): [number, number] => {
    const half = Math.max(...counts) / 2
    const from = counts.findIndex(count => count >= half)
    const to = counts.findLastIndex(count => count >= half)
    return [from === 0 ? 0 : from * blockMm, to === counts.length - 1 ? endMm : (to + 1) * blockMm]
  }
  const [left, right] = span(inColumn, (blockPx * MM_PER_INCH) / dpi.across, widthMm)
  const [top, bottom] = span(inRow, (blockPx * MM_PER_INCH) / dpi.along, heightMm)
  return { left, top, right, bottom }
}

/** What the map leaves, and light by area. */
function describe(flat: FlatSurvey, grid: Grid, used: Uint8Array, terms: readonly SurfaceTerm[]) {
  const { columns, rows } = grid
  const surface = new Float64Array(used.length)
  let count = 0
  let sum = 0
  let squares = 0
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c
      if (used[at] !== 1) continue
      surface[at] = surfaceAt(terms, grid.u[c]!, grid.v[r]!)
      count++
      sum += surface[at]!
      squares += (grid.values[at]! - surface[at]!) ** 2
    }
  const mean = sum / count
  const percent = (density: number) => 100 * (10 ** -density - 1)
  let least = 0
  let greatest = 0
  let rms = 0
  const across = areasOf(flat.widthMm)
  const along = areasOf(flat.heightMm)
  const cells = Array.from({ length: across * along }, () => ({ n: 0, light: 0, residual: 0 }))
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c
      if (used[at] !== 1) continue
      const light = percent(surface[at]! - mean)
      least = Math.min(least, light)
      greatest = Math.max(greatest, light)
      rms += light * light
      const cell = cells[Math.floor((r * along) / rows) * across + Math.floor((c * across) / columns)]!
      cell.n++
      cell.light += percent(grid.values[at]! - mean)
      cell.residual += percent(grid.values[at]! - surface[at]!)
    }
  const areas = cells.flatMap(({ n, light, residual }, i) =>
    n === 0
      ? []
      : [
          {
            across: rounded((((i % across) + 0.5) * flat.widthMm) / across, 3),
            along: rounded(((Math.floor(i / across) + 0.5) * flat.heightMm) / along, 3),
            light: rounded(light / n, 3),
            residual: rounded(residual / n, 3),
          },
        ],
  )
  return {
    standard: Math.max(NOISE, Math.sqrt(squares / count)),
    uniformity: { least, greatest, rms: Math.sqrt(rms / count) },
    areas,
  }
}

function areasOf(mm: number): number {
  return Math.min(MOST_AREAS, Math.max(FEWEST_AREAS, Math.round(mm / AREA_MM)))
}

/** Density of a flat where the tablet saw its open light; where that is not known, of its clearest part. */
function levelAt(
  map: EvenMap,
  tablet: TabletPlace,
  placed: { readonly across: boolean; readonly along: boolean },
): number {
  const { terms, flat, tested } = map
  const at = (x: number, y: number) => surfaceAt(terms, (2 * x) / flat.widthMm - 1, (2 * y) / flat.heightMm - 1)
  const mm = { across: MM_PER_INCH / tablet.dpi.across, along: MM_PER_INCH / tablet.dpi.along }
  const inside = (value: number, from: number, to: number) => Math.min(to, Math.max(from, value))
  const spread = (from: number, to: number) => Array.from({ length: 21 }, (_, i) => from + ((to - from) * i) / 20)
  const xs = (p: PixelPoint) =>
    placed.across
      ? [inside((p.column + 0.5) * mm.across, tested.left, tested.right)]
      : spread(tested.left, tested.right)
  const ys = (p: PixelPoint) =>
    placed.along ? [inside((p.row + 0.5) * mm.along, tested.top, tested.bottom)] : spread(tested.top, tested.bottom)
  const values = tablet.open.flatMap(p => xs(p).flatMap(x => ys(p).map(y => at(x, y))))
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

/** The lateral artefact from what a denser film shows beyond the clearest flat; unknown when the two are too near in density to tell. */
function lateralOf(clear: EvenMap, dense: EvenMap, step: number): FlatField['lateral'] {
  const unknown = { share: 0, standard: LATERAL_UNKNOWN, measured: false }
  if (dense === clear || !(step > 0.01)) return unknown
  const { grid, flat } = clear
  const { columns, rows } = grid
  const values = new Float64Array(columns * rows)
  const weights = new Float64Array(columns * rows)
  for (let i = 0; i < values.length; i++) {
    values[i] = (dense.grid.values[i] ?? Number.NaN) - grid.values[i]!
    weights[i] = clear.used[i] === 1 && dense.used[i] === 1 && Number.isFinite(values[i]!) ? 1 : 0
  }
  const shape = (terms: readonly SurfaceTerm[]) => terms.find(t => t.across === 2 && t.along === 0)!.value
  const all = { ...grid, values }
  // u = 1 is half the width from the mid-line.
  const toShare = (100 / (flat.widthMm / 2)) ** 2 / step
  const share = shape(fitSurface(all, weights, 2)) * toShare
  // Residuals of neighbours go together: strips along the carriage are left out in turn (jackknife).
  const strips = 8
  const left: number[] = []
  for (let s = 0; s < strips; s++) {
    const fewer = weights.map((w, i) => (Math.floor((Math.floor(i / columns) * strips) / rows) === s ? 0 : w))
    left.push(shape(fitSurface(all, fewer, 2)) * toShare)
  }
  const mean = left.reduce((sum, x) => sum + x, 0) / strips
  const spread = Math.sqrt(((strips - 1) / strips) * left.reduce((sum, x) => sum + (x - mean) ** 2, 0))
  // What the smooth maps leave may itself be bent.
  const bent = (Math.hypot(clear.standard, dense.standard) / step) * (100 / (flat.widthMm / 2)) ** 2
  const standard = Math.hypot(spread, bent, FILM_EVEN)
  return standard < LATERAL_UNKNOWN ? { share, standard, measured: true } : unknown
}

function sampleWindows(scan: OpenScan): FlatSurvey['samples'] {
  const { width, height } = scan.header
  const size = Math.min(SAMPLE_PX, width, height)
  const samples: { column: number; row: number; codes: Uint16Array }[] = []
  for (let r = 0; r < SAMPLES_A_SIDE; r++)
    for (let c = 0; c < SAMPLES_A_SIDE; c++) {
      const column = Math.floor(((width - size) * (c + 0.5)) / SAMPLES_A_SIDE)
      const row = Math.floor(((height - size) * (r + 0.5)) / SAMPLES_A_SIDE)
      const { codes } = scan.readWindow({ column, row, width: size, height: size })
      samples.push({ column, row, codes: codes.slice() })
    }
  return samples
}

/** Greatest common step of all codes. */
function codeStep(windows: readonly Uint16Array[]): number {
  const first = windows[0]![0]!
  let step = 0
  for (const codes of windows)
    for (const code of codes) {
      let a = Math.abs(code - first)
      let b = step
      while (b > 0) [a, b] = [b, a % b]
      step = a
      if (step === 1) return 1
    }
  return step
}

function near(one: number, other: number): boolean {
  return Math.abs(one / other - 1) < 0.02
}

function sizeOf({ widthMm, heightMm }: FlatSurvey): string {
  return `${widthMm.toFixed(1)} x ${heightMm.toFixed(1)} mm`
}

function round(value: number): string {
  return String(Math.round(value))
}

function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals))
}
