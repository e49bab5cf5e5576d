import { type BlockOverview, blockOverview } from '../imaging/block-overview.js'
import { type LightField, lightField } from '../imaging/light-field.js'
import { borderShade, FARTHEST_SHIFT, type RegisteredShift, registerShift } from '../imaging/register-shift.js'
import { quantile } from '../imaging/robust.js'
import { surroundLight } from '../imaging/surround-light.js'
import type { Calibration, Flare } from '../model/calibration.js'
import type { PixelPoint, PixelRect } from '../model/geometry.js'
import type { LightScale } from '../model/light.js'
import { ProblemError } from '../model/problem.js'
import type { CodeWindow, OpenScan } from '../model/scan.js'
import { type DarkLevel, type ExposureFit, type ExposurePair, fitExposures, type LevelPair } from './exposure-fit.js'
import { flareLight, flareLightError } from './flare-light.js'
import { type FusedCodes, type FusedFlare, fusedCodes, fusedLight } from './fused-light.js'
import { lightScale, lightTable } from './light-scale.js'

/** One scan of a bracket as it was found to lie. */
export interface BracketExposure {
  readonly file: string
  /** Exposure over that of the calibration's scan. */
  readonly ratio: number
  /** U of the ratio (k = 2): of the fit, and of the tablet's densities it was read by. */
  readonly expanded: number
  /** Where the film lies against its place in the reference, px. */
  readonly shift: { readonly column: number; readonly row: number }
  /** Correlation with the next darker scan once aligned; 1 for the reference. */
  readonly correlation: number
}

export interface FusedBracket {
  /** Reads like a scan: its codes are fused light, only meaningful through `light`. Closing it closes all scans. */
  readonly scan: OpenScan
  readonly light: LightScale
  /** Darkest first; the first is the reference, at the calibration's exposure. */
  readonly exposures: readonly BracketExposure[]
  /** Stray light, share of open light, as the bracket tells it. */
  readonly veil: number
  readonly darkMeasured: boolean
  /** Sentences for the report. */
  readonly notes: readonly string[]
}

/** Side of a block of the overviews, px. */
const BLOCK_PX = 8
/** The reference's brightest flat light lies within this of open light, natural logarithm: base to D 0.25, lamp up to 20 % brighter. */
const REFERENCE_LOG = { least: -0.6, most: 0.2 }
/** Above this code a scan is on its way to being clipped, and takes no part. */
const NEARLY_CLIPPED = 58_000
const CLIP_RAMP = 8_000
/** Light above which the reference alone speaks, so that edges keep its sharpness, and below which every scan does. */
const REFERENCE_ALONE = 0.05
const ALL_SPEAK = 0.02
/** Two scans nearer than this in exposure are the same exposure twice. */
const SAME_EXPOSURE = 1.2
/** Aligned windows of one film agree at least this well. */
const LEAST_CORRELATION = 0.8
/** Windows of unmoved film agree on the shift to this, px. */
const MOST_DISAGREEMENT = 0.5
/** The shift must be known to this, one sigma, px. */
const MOST_DOUBT = 0.1
/** Levels of one pair: bins of light, a third of a density wide, and the fewest pixels of one. */
const LEVEL_STEP = 1 / 3
const DEEPEST_LEVEL = 5
const FEWEST_PIXELS = 400
const FEWEST_IN_WINDOW = 30
/** A place is flat when light that is this many pixels off is the same to this share and noise. */
const FLAT_REACH = 3
const FLAT_SHARE = 0.06
/** The two scans may differ by this share where the film is flat, and the ratio from the ramps of edges by this (one sigma). */
const FLAT_ERROR = 0.001
const RAMP_ERROR = 0.004
/** The same where a single window gave the ratio, whose scatter is not known. */
const LONE_RAMP_ERROR = 0.02
/** Windows over the page that levels are taken from, besides those with structure. */
const LEVEL_CELLS = 8
const LEVEL_WINDOW = 96
/** An opaque reference fills a side of the scan this far, mm, of which the inner rim is left out. */
const HOLDER_MM = 1.2
const HOLDER_RIM_MM = 0.6
/** The calibration tells flare over the holder to this share of itself (one sigma); from place to place it may be off by the other. */
const GLARE_DOUBT = 0.25
const GLARE_SLACK = 0.4
/** Flare over the holder is worked out at every so many blocks, by linear steps between: beside the light it is steep. */
const GLARE_BLOCKS = 4
/** Blocks looked at for the darkest, and places over the holder for the light round it. */
const GLARE_STRIDE = 5
const SURROUND_SAMPLES = 100

/**
 * Joins scans of one unmoved film at rising exposure into one. The darkest is the calibration's exposure; how much
 * brighter the others are, how they lie, and what of their black is offset and what is stray light (offset does not grow
 * with exposure, flare does) is found from the pixels. Every pixel is the mean of the scans that are not clipped there,
 * weighted by signal to noise; bright places are the reference's alone, so edges are as sharp as in one scan.
 * @param scans two or more, in any order
 * @throws ProblemError BRACKET_*
 */
export function fuseBracket(scans: readonly OpenScan[], calibration: Calibration, umPerPixel: Pitch): FusedBracket {
  refuseUnlike(scans)
  const notes: string[] = []
  const single = lightScale(calibration)
  // Densities are read off joined light: it goes through the knots themselves, not the smooth scale of edges.
  const table = lightTable(calibration.response)
  const overviews = scans.map(scan => blockOverview(scan, BLOCK_PX, table))
  const means = meansOf(overviews)
  const seen = scans
    .map((scan, i): Seen => {
      return { scan, overview: overviews[i]!, mean: means[i]!, field: lightField(scan, table, umPerPixel) }
    })
    .sort((a, b) => a.mean - b.mean)
  const reference = referenceOf(seen)
  const used = seen.slice(reference)
  if (reference > 0)
    notes.push(
      `${reference} scan${reference === 1 ? '' : 's'} of the bracket, darker than the calibration's exposure, did not take part.`,
    )
  if (used.length < 2)
    throw new ProblemError('BRACKET_ONE_SCAN', 'only one is at the exposure of the calibration or above')

  const noise = pixelNoise(calibration)
  const pairs = used.slice(1).map((upper, i) => alignPair(used[i]!, upper, table, noise))
  const shifts = [{ column: 0, row: 0 }]
  const ratios = [1]
  for (const pair of pairs) {
    shifts.push({
      column: shifts.at(-1)!.column + pair.shift.column,
      row: shifts.at(-1)!.row + pair.shift.row,
    })
    ratios.push(ratios.at(-1)! * pair.ratio)
  }
  const perCode = lightOfCode(table)
  const flare = calibration.flare ?? null
  const surround = surroundLight(used[0]!.overview, umPerPixel, flare?.reaches ?? [])
  const dark = darkReference({
    used,
    umPerPixel,
    perCode,
    noise,
    ratio: ratios.at(-1)!,
    surroundOf: place => surround.at(place.column, place.row),
    flare,
  })
  const darkSurround = dark?.surround ?? null
  const exposures = fitExposures({
    scans: used.length,
    pairs: pairs.map((pair, i): ExposurePair => ({ lower: i, upper: i + 1, levels: pair.levels })),
    darks: dark?.levels ?? [],
    perCode,
    blackError: blackCodes(calibration, single, perCode),
    veil: calibration.response.veil ?? 0,
    darkGlare: darkGlare(flare, darkSurround),
    ratios,
  })
  const readers = used.map((_, k): Reader => reader(k, table, exposures, noise))
  const weightsAt = (light: number) => sharesOf(light, readers, exposures)
  const darkShares = weightsAt(0)
  const darkNoise = Math.hypot(...readers.map((r, k) => darkShares[k]! * r.sigma(0)))
  const codes = fusedCodes(1.02 * Math.max(readers[0]!.light[65534]!, 1.1), darkNoise)
  // Neighbours are correlated by optics and interpolation: four pixels count as one.
  const square = (1000 / umPerPixel.across) * (1000 / umPerPixel.along)
  const light = fusedLight({
    calibration,
    exposures,
    codes,
    weights: weightsAt,
    squareNoise: darkNoise / Math.sqrt(square / 4),
    darkMeasured: dark !== null,
    flare: flareOf(calibration, darkSurround),
  })
  // A ratio is read off the curve at two levels, where the ramps of edges lie.
  const tabletShare = Math.SQRT2 * Math.LN10 * tabletError(single, pairs[0]!.levels[0]!.lower)
  const list = used.map(
    ({ scan }, k): BracketExposure => ({
      file: scan.header.file,
      ratio: exposures.ratios[k]!,
      expanded: 2 * exposures.ratios[k]! * Math.hypot(exposures.ratioErrors[k]!, Math.sqrt(k) * tabletShare),
      shift: shifts[k]!,
      correlation: k === 0 ? 1 : pairs[k - 1]!.correlation,
    }),
  )
  notes.push(
    `${used.length} scans were joined: ${list.map(exposureText).join(', ')}; they lay up to ${Math.max(...shifts.map(s => Math.hypot(s.column, s.row))).toFixed(1)} pixels apart. Together they tell densities apart to D ${light.deepest?.toFixed(1)}, the calibrated exposure alone to D ${calibration.deepest.toFixed(1)}.`,
  )
  if (dark === null)
    notes.push(
      'No opaque reference fills a side of the scans, so stray light had to be told from the exposures alone; with the holder in view a bracket sees deeper.',
    )
  return {
    scan: fusedScan(scans, used, shifts, readers, codes),
    light,
    exposures: list,
    veil: exposures.veil,
    darkMeasured: dark !== null,
    notes,
  }
}

interface Pitch {
  readonly across: number
  readonly along: number
}

interface Seen {
  readonly scan: OpenScan
  readonly overview: BlockOverview
  readonly mean: number
  readonly field: LightField
}

function exposureText({ file, ratio, expanded }: BracketExposure, k: number): string {
  const name = file.replace(/^.*[/\\]/, '')
  if (k === 0) return `${name} at the exposure of the calibration`
  return `${name} at ${ratio.toFixed(2)} ± ${Math.max(expanded, 0.01).toFixed(2)} times that`
}

/** Standard uncertainty of the tablet's own densities at a light, D. */
function tabletError(single: LightScale, light: number): number {
  return single.density(single.code(light), 0).budget.find(c => c.name === 'tablet')?.standard ?? 0
}

/** Scans of one window may be cut a little differently; of the larger they must share so much. */
const LEAST_SHARED = 0.6

function nameOf({ header }: OpenScan): string {
  return header.file.replace(/^.*[/\\]/, '')
}

/** Fewer blocks than this, in a thousand, are dust. */
const DUST_BLOCKS = 1e-3

/** Whether all but a holder is clipped. */
function allClipped(overview: BlockOverview, clip: number): boolean {
  const shade = borderShade(overview, clip)
  let held = 0
  for (let i = 0; i < shade.length; i++) if (shade[i] === 0 && overview.least[i]! < NEARLY_CLIPPED) held++
  return held <= DUST_BLOCKS * shade.length
}

function refuseUnlike(scans: readonly OpenScan[]): void {
  if (scans.length < 2) throw new ProblemError('BRACKET_ONE_SCAN', `${scans.length} given`)
  const first = scans[0]!.header
  const setting = (h: OpenScan['header']) =>
    `${h.dpi === null ? 'no' : `${Math.round(h.dpi.across)} x ${Math.round(h.dpi.along)}`} dpi, ${h.bits} bits, ${h.channels === 1 ? 'grey' : `colour read on ${h.channel}`}`
  for (const { header } of scans) {
    if (setting(header) !== setting(first))
      throw new ProblemError('BRACKET_SETTINGS_DIFFER', `${setting(first)} and ${setting(header)}`)
    const shared = Math.min(header.width, first.width) * Math.min(header.height, first.height)
    if (!(shared >= LEAST_SHARED * Math.max(header.width * header.height, first.width * first.height)))
      throw new ProblemError(
        'BRACKET_SIZES_DIFFER',
        `${first.width} x ${first.height} and ${header.width} x ${header.height} pixels`,
      )
  }
}

/** Mean light of each overview over the blocks that all have, so that their order is that of exposure. */
function meansOf(overviews: readonly BlockOverview[]): number[] {
  const columns = Math.min(...overviews.map(o => o.columns)) - 1
  const rows = Math.min(...overviews.map(o => o.rows)) - 1
  return overviews.map(overview => {
    let sum = 0
    for (let r = 0; r < rows; r++) for (let c = 0; c < columns; c++) sum += overview.light[r * overview.columns + c]!
    return sum / Math.max(1, rows * columns)
  })
}

/** Place of the scan made at the calibration's exposure: open light or clear film shines as it should, and is not clipped. */
function referenceOf(seen: readonly Seen[]): number {
  const tops = seen.map(({ overview }) => {
    const top = quantile(overview.light, 0.98)
    const codes: number[] = []
    for (let i = 0; i < overview.light.length; i++)
      if (overview.light[i]! > 0.97 * top) codes.push(overview.greatest[i]!)
    return { log: Math.log(Math.max(top, 1e-9)), clipped: quantile(codes, 0.5) === 65535 }
  })
  if (tops.every(top => top.clipped)) throw new ProblemError('BRACKET_CLIPPED', 'clear film is clipped in every scan')
  let best = -1
  for (let i = 0; i < tops.length; i++) {
    const { log, clipped } = tops[i]!
    if (clipped || !(log >= REFERENCE_LOG.least && log <= REFERENCE_LOG.most)) continue
    if (best < 0 || Math.abs(log) < Math.abs(tops[best]!.log)) best = i
  }
  if (best < 0)
    throw new ProblemError(
      'BRACKET_NO_REFERENCE',
      `their brightest light is ${tops.map(top => `${(100 * Math.exp(top.log)).toFixed(0)} %${top.clipped ? ' (clipped)' : ''}`).join(', ')} of open light`,
    )
  // Of scans at one exposure the first is taken, so that the pair of them is found out as such.
  while (best > 0 && tops[best]!.log - tops[best - 1]!.log < Math.log(SAME_EXPOSURE)) best--
  return best
}

interface AlignedPair {
  readonly ratio: number
  readonly shift: { readonly column: number; readonly row: number }
  readonly correlation: number
  readonly levels: readonly LevelPair[]
}

/** How the brighter of two neighbours lies and how much brighter it is. */
function alignPair(lower: Seen, upper: Seen, table: Float32Array, noise: (code: number) => number): AlignedPair {
  const noiseLight = noise(0) * lightOfCode(table)(1e-3)
  const found = registerShift(lower.field, upper.field, lower.overview, { clip: table[NEARLY_CLIPPED]! })
  if ('refused' in found) {
    if (allClipped(upper.overview, table[NEARLY_CLIPPED]!))
      throw new ProblemError('BRACKET_CLIPPED', `nothing of ${nameOf(upper.scan)} is below the top of the scale`)
    if (found.refused === 'noStructure')
      throw new ProblemError('BRACKET_NOT_ALIGNED', 'nothing on them has an edge to align by')
    throw new ProblemError(
      'BRACKET_FILMS_DIFFER',
      `within ${FARTHEST_SHIFT} pixels of each other their best correlation is ${found.correlation.toFixed(2)}`,
    )
  }
  if (!(found.correlation >= LEAST_CORRELATION))
    throw new ProblemError('BRACKET_FILMS_DIFFER', `their correlation is ${found.correlation.toFixed(2)}`)
  if (!(found.disagreement <= MOST_DISAGREEMENT))
    throw new ProblemError(
      'BRACKET_NOT_ALIGNED',
      `parts of the page lie up to ${found.disagreement.toFixed(1)} px off the rest`,
    )
  const doubt = Math.max(found.standard.column, found.standard.row)
  if (!(doubt <= MOST_DOUBT))
    throw new ProblemError('BRACKET_NOT_ALIGNED', `their edges tell the shift to ${doubt.toFixed(1)} px only`)
  const far = Math.max(Math.abs(found.shift.column), Math.abs(found.shift.row))
  if (!(far <= FARTHEST_SHIFT))
    throw new ProblemError('BRACKET_NOT_ALIGNED', `they lie ${far.toFixed(0)} px apart, at most ${FARTHEST_SHIFT}`)
  const { ratio } = found
  if (!(ratio >= SAME_EXPOSURE)) throw new ProblemError('BRACKET_SAME_EXPOSURE', `their ratio is ${ratio.toFixed(2)}`)
  const ramps: LevelPair = {
    lower: found.ratioLight,
    upper: ratio * found.ratioLight,
    error: Math.max(found.ratioStandard ?? LONE_RAMP_ERROR, RAMP_ERROR) * ratio * found.ratioLight,
  }
  const levels = [ramps, ...flatLevels(lower, upper, found, table, noiseLight)]
  return { ratio, shift: found.shift, correlation: found.correlation, levels }
}

/** Sums of one level: in all windows, and in each. */
interface LevelBin {
  n: number
  lower: number
  upper: number
  readonly windows: { n: number; lower: number; upper: number }[]
}

/**
 * Mean light of both scans at flat places neither has clipped, the two moved half-way towards each other so that both are
 * blurred alike. The ramps of edges are heard through the ratio of the registration.
 */
function flatLevels(
  lower: Seen,
  upper: Seen,
  found: RegisteredShift,
  table: Float32Array,
  noiseLight: number,
): LevelPair[] {
  const { ratio } = found
  const whole = { column: Math.round(found.shift.column), row: Math.round(found.shift.row) }
  const half = { column: (found.shift.column - whole.column) / 2, row: (found.shift.row - whole.row) / 2 }
  const levels = Math.ceil(DEEPEST_LEVEL / LEVEL_STEP) + 1
  const bins = Array.from({ length: levels }, (): LevelBin => ({ n: 0, lower: 0, upper: 0, windows: [] }))
  for (const place of levelPlaces(lower, found)) {
    const from = { column: place.column + whole.column, row: place.row + whole.row }
    if (!inside(lower.scan, place) || !inside(upper.scan, { ...place, ...from })) continue
    const a = halfway(lower.scan.readWindow(place), -half.column, -half.row, table)
    const b = halfway(upper.scan.readWindow({ ...place, ...from }), half.column, half.row, table)
    const level = averaged(b, place.width, place.height)
    const here = bins.map(() => ({ n: 0, lower: 0, upper: 0 }))
    for (let i = 0; i < level.length; i++) {
      if (a.clipped[i] === 1 || b.clipped[i] === 1 || !(level[i]! > -1)) continue
      const off = FLAT_REACH
      const slope = Math.max(
        Math.abs(level[i]! - level[i - off]!),
        Math.abs(level[i]! - level[i + off]!),
        Math.abs(level[i]! - level[i - off * place.width]!),
        Math.abs(level[i]! - level[i + off * place.width]!),
      )
      // NaN beside a clipped pixel or the rim is no flat place.
      if (!(slope <= FLAT_SHARE * Math.abs(level[i]!) + 2 * noiseLight)) continue
      const at = Math.max(level[i]! / ratio, 10 ** -DEEPEST_LEVEL)
      const bin = Math.min(levels - 1, Math.max(0, Math.floor(-Math.log10(at) / LEVEL_STEP)))
      const into = here[bin]!
      into.n++
      into.lower += a.light[i]!
      into.upper += b.light[i]!
    }
    here.forEach((sums, i) => {
      if (sums.n < FEWEST_IN_WINDOW) return
      const bin = bins[i]!
      bin.n += sums.n
      bin.lower += sums.lower
      bin.upper += sums.upper
      bin.windows.push(sums)
    })
  }
  return bins.flatMap((bin): LevelPair[] => {
    if (bin.n < FEWEST_PIXELS || bin.windows.length < 2) return []
    const lowerMean = bin.lower / bin.n
    const upperMean = bin.upper / bin.n
    // The windows' own scatter about the common ratio tells the error, misalignment and noise alike.
    let squares = 0
    for (const w of bin.windows) squares += (w.upper - ratio * w.lower - (upperMean - ratio * lowerMean) * w.n) ** 2
    const spread = (Math.sqrt(squares) / bin.n) * Math.sqrt(bin.windows.length / (bin.windows.length - 1))
    // Few windows may agree by luck: noise alone is never less. Four neighbours count as one.
    const least = noiseLight * Math.hypot(1, ratio) * Math.sqrt(4 / bin.n)
    const error = Math.hypot(Math.max(spread, least), FLAT_ERROR * Math.abs(upperMean))
    return [{ lower: lowerMean, upper: upperMean, error }]
  })
}

function levelPlaces({ scan }: Seen, found: RegisteredShift): PixelRect[] {
  const places: PixelRect[] = found.windows.map(w => ({ ...w, width: found.windowPx, height: found.windowPx }))
  const { width, height } = scan.header
  for (let r = 0; r < LEVEL_CELLS; r++)
    for (let c = 0; c < LEVEL_CELLS; c++)
      places.push({
        column: Math.round(((c + 0.5) * width) / LEVEL_CELLS - LEVEL_WINDOW / 2),
        row: Math.round(((r + 0.5) * height) / LEVEL_CELLS - LEVEL_WINDOW / 2),
        width: LEVEL_WINDOW,
        height: LEVEL_WINDOW,
      })
  return places
}

function inside(scan: OpenScan, rect: PixelRect): boolean {
  const { width, height } = scan.header
  return rect.column >= 0 && rect.row >= 0 && rect.column + rect.width <= width && rect.row + rect.height <= height
}

/** Light of a window moved by less than a pixel, by linear steps; pixels with a clipped neighbour, and the rim, are marked. */
function halfway(
  { codes, width, height }: CodeWindow,
  column: number,
  row: number,
  table: Float32Array,
): { light: Float64Array; clipped: Uint8Array } {
  const light = new Float64Array(codes.length)
  const clipped = new Uint8Array(codes.length).fill(1)
  const dc = column < 0 ? -1 : 1
  const dr = row < 0 ? -1 : 1
  const fc = Math.abs(column)
  const fr = Math.abs(row)
  for (let r = 1; r < height - 1; r++)
    for (let c = 1; c < width - 1; c++) {
      const i = r * width + c
      const [p, q, s, t] = [codes[i]!, codes[i + dc]!, codes[i + dr * width]!, codes[i + dr * width + dc]!]
      if (p > NEARLY_CLIPPED || q > NEARLY_CLIPPED || s > NEARLY_CLIPPED || t > NEARLY_CLIPPED) continue
      clipped[i] = 0
      light[i] = (table[p]! * (1 - fc) + table[q]! * fc) * (1 - fr) + (table[s]! * (1 - fc) + table[t]! * fc) * fr
    }
  return { light, clipped }
}

/** Mean of the ring of 16 pixels two off: what a pixel is sorted by must not be its own noise. NaN at the rim and beside clipped pixels. */
function averaged(
  { light, clipped }: { readonly light: Float64Array; readonly clipped: Uint8Array },
  width: number,
  height: number,
): Float64Array {
  const out = new Float64Array(light.length).fill(Number.NaN)
  for (let r = 2; r < height - 2; r++)
    for (let c = 2; c < width - 2; c++) {
      let sum = 0
      let lost = 0
      for (let y = -2; y <= 2; y++)
        for (let x = -2; x <= 2; x += Math.abs(y) === 2 ? 1 : 4) {
          const i = (r + y) * width + c + x
          sum += light[i]!
          lost += clipped[i]!
        }
      if (lost === 0) out[r * width + c] = sum / 16
    }
  return out
}

/** Light of one code at a light: steps of 16 codes, by search in the rising table. */
function lightOfCode(table: Float32Array): (light: number) => number {
  return light => {
    let low = 0
    let high = 65535
    while (high - low > 1) {
      const middle = (low + high) >> 1
      if (table[middle]! <= light) low = middle
      else high = middle
    }
    const from = Math.max(0, low - 8)
    const to = Math.min(65535, low + 8)
    return (table[to]! - table[from]!) / (to - from)
  }
}

/** What is not known of the calibration's black, codes, told where it matters: at its deepest density. */
function blackCodes(calibration: Calibration, single: LightScale, perCode: (light: number) => number): number {
  const light = 10 ** -calibration.deepest
  const { budget } = single.density(single.code(light), 0)
  const black = budget.find(c => c.name === 'black')?.standard ?? 0
  return (black * Math.LN10 * light) / perCode(light)
}

/** Noise of a single pixel by code, from the calibration's steps. */
function pixelNoise(calibration: Calibration): (code: number) => number {
  const steps = [...calibration.steps].sort((a, b) => a.code - b.code)
  return code => {
    if (code <= steps[0]!.code) return Math.max(steps[0]!.pixelNoise, 0.5)
    for (let i = 1; i < steps.length; i++) {
      const [a, b] = [steps[i - 1]!, steps[i]!]
      if (code <= b.code)
        return Math.max(
          0.5,
          a.pixelNoise + ((b.pixelNoise - a.pixelNoise) * (code - a.code)) / Math.max(1, b.code - a.code),
        )
    }
    return Math.max(steps.at(-1)!.pixelNoise, 0.5)
  }
}

/** Light that the calibration's flare puts on the opaque reference; the calibration's own shape of it may not be this scanner's. */
function darkGlare(flare: Flare | null, surround: readonly number[] | null): { light: number; error: number } | null {
  if (flare === null || surround === null) return null
  const light = flareLight(flare, surround)
  return { light, error: Math.hypot(flareLightError(flare, surround, []), GLARE_DOUBT * light) }
}

interface DarkQuestion {
  readonly used: readonly Seen[]
  readonly umPerPixel: Pitch
  readonly perCode: (light: number) => number
  readonly noise: (code: number) => number
  /** Exposure of the longest scan over the reference's. */
  readonly ratio: number
  readonly surroundOf: (place: PixelPoint) => readonly number[]
  readonly flare: Flare | null
}

/**
 * An opaque holder that fills a side of the scan: what every scan reads of no light at all, and the light round it. Flare lies
 * over it unevenly, more beside the light: as much as the calibration says is no light of its own.
 */
function darkReference(question: DarkQuestion): { levels: DarkLevel[]; surround: readonly number[] } | null {
  const { used, umPerPixel, perCode, noise, ratio, surroundOf, flare } = question
  const longest = used.at(-1)!.overview
  const { columns, rows, light } = longest
  const placeOf = (i: number): PixelPoint => ({
    column: ((i % columns) + 0.5) * BLOCK_PX,
    row: (Math.floor(i / columns) + 0.5) * BLOCK_PX,
  })
  const lowest = quantile(light, 0.002)
  // The lowest blocks lie some three sigmas below their middle: within six above it is as dark.
  const even = (9 * noise(0) * perCode(lowest)) / BLOCK_PX
  const corners = new Map<number, number>()
  const cornerGlare = (known: Flare, c: number, r: number) => {
    const corner = r * (columns + 1) + c
    const value =
      corners.get(corner) ??
      ratio * flareLight(known, surroundOf({ column: c * GLARE_BLOCKS * BLOCK_PX, row: r * GLARE_BLOCKS * BLOCK_PX }))
    corners.set(corner, value)
    return value
  }
  const glare = (i: number) => {
    if (flare === null) return 0
    const [x, y] = [((i % columns) + 0.5) / GLARE_BLOCKS, (Math.floor(i / columns) + 0.5) / GLARE_BLOCKS]
    const [c, r] = [Math.floor(x), Math.floor(y)]
    const above = cornerGlare(flare, c, r) * (c + 1 - x) + cornerGlare(flare, c + 1, r) * (x - c)
    const below = cornerGlare(flare, c, r + 1) * (c + 1 - x) + cornerGlare(flare, c + 1, r + 1) * (x - c)
    return Math.max(0, above * (r + 1 - y) + below * (y - r))
  }
  // Flare adds no more than its whole share: only what is so dark is looked at closely, and the floor is that of the rim of the scan.
  const most = lowest + even + ratio * Math.max(0, flare?.share ?? 0)
  const rimBlocks = {
    across: (1000 * HOLDER_MM) / umPerPixel.across / BLOCK_PX,
    along: (1000 * HOLDER_MM) / umPerPixel.along / BLOCK_PX,
  }
  let floor = flare === null ? lowest : Number.POSITIVE_INFINITY
  if (flare !== null)
    for (let i = 0; i < light.length; i += GLARE_STRIDE) {
      const [c, r] = [i % columns, Math.floor(i / columns)]
      const inner = Math.min(c, columns - 1 - c) > rimBlocks.across && Math.min(r, rows - 1 - r) > rimBlocks.along
      if (!inner && light[i]! <= most) floor = Math.min(floor, light[i]! - glare(i))
    }
  const isDark = (i: number) => light[i]! <= most && light[i]! - glare(i) - floor <= even + GLARE_SLACK * glare(i)
  const lines = {
    left: { count: columns, length: rows, at: (d: number, k: number) => k * columns + d, um: umPerPixel.across },
    right: {
      count: columns,
      length: rows,
      at: (d: number, k: number) => k * columns + columns - 1 - d,
      um: umPerPixel.across,
    },
    top: { count: rows, length: columns, at: (d: number, k: number) => d * columns + k, um: umPerPixel.along },
    bottom: {
      count: rows,
      length: columns,
      at: (d: number, k: number) => (rows - 1 - d) * columns + k,
      um: umPerPixel.along,
    },
  }
  for (const side of Object.values(lines)) {
    let depth = 0
    for (let d = 1; d < side.count; d++) {
      let dark = 0
      for (let k = 1; k < side.length - 1; k++) if (isDark(side.at(d, k))) dark++
      if (!(dark >= 0.98 * (side.length - 2))) break
      depth = d
    }
    const blockMm = (BLOCK_PX * side.um) / 1000
    const rim = Math.ceil(HOLDER_RIM_MM / blockMm)
    // A page dark all over shows no holder.
    if (!(depth * blockMm >= HOLDER_MM && depth < side.count / 2 && depth - rim >= 2)) continue
    const places: number[] = []
    for (let d = 1; d <= depth - rim; d++) for (let k = 2; k < side.length - 2; k++) places.push(side.at(d, k))
    if (!used.every(({ overview }) => sharedPlaces(places, columns, overview) >= LEAST_SHARED * places.length)) continue
    const levels = used.map(({ overview }, scan): DarkLevel => {
      // The same blocks in a scan cut differently, as far as it has them.
      const lights = places.flatMap(i => {
        const [c, r] = [i % columns, Math.floor(i / columns)]
        return c < overview.columns - 1 && r < overview.rows - 1 ? [overview.light[r * overview.columns + c]!] : []
      })
      const mean = lights.reduce((sum, value) => sum + value, 0) / lights.length
      const squares = lights.reduce((sum, value) => sum + (value - mean) ** 2, 0)
      const standard = Math.sqrt(squares / lights.length / Math.max(1, lights.length / 4))
      return { scan, light: mean, error: Math.hypot(standard, 0.1 * perCode(mean)) }
    })
    return { levels, surround: meanSurround(places.map(placeOf), surroundOf) }
  }
  return null
}

/** Flare is linear in the light round a place: its mean over many places goes with the mean of that. */
function meanSurround(places: readonly PixelPoint[], surroundOf: (place: PixelPoint) => readonly number[]): number[] {
  const stride = Math.max(1, Math.floor(places.length / SURROUND_SAMPLES))
  const sampled = places.filter((_, i) => i % stride === 0).map(surroundOf)
  return sampled[0]!.map((_, k) => sampled.reduce((sum, surround) => sum + surround[k]!, 0) / sampled.length)
}

/** How many of the blocks lie within another overview; its last row and column may be of part blocks. */
function sharedPlaces(places: readonly number[], columns: number, { columns: width, rows }: BlockOverview): number {
  return places.filter(i => i % columns < width - 1 && Math.floor(i / columns) < rows - 1).length
}

/** Flare against the place where the zero of light was told: the opaque reference, else the calibration's own zero. */
function flareOf(calibration: Calibration, dark: readonly number[] | null): FusedFlare | null {
  const { flare } = calibration
  const deepest = calibration.steps.findLast(step => step.trusted)?.surround
  if (flare === undefined || flare === null || deepest === undefined) return null
  return dark === null
    ? { flare, zero: null, told: deepest, usual: deepest }
    : { flare, zero: dark, told: dark, usual: dark }
}

/** One scan's part in the fused light. */
interface Reader {
  /** Film's light for every code. */
  readonly light: Float32Array
  /** Standard deviation of a single pixel's light. */
  sigma(light: number): number
}

function reader(k: number, table: Float32Array, exposures: ExposureFit, noise: (code: number) => number): Reader {
  const light = Float32Array.from(table, seen => exposures.filmLight(k, seen))
  const codeOf = (film: number) => {
    let low = 0
    let high = 65535
    while (high - low > 1) {
      const middle = (low + high) >> 1
      if (light[middle]! <= film) low = middle
      else high = middle
    }
    return low
  }
  return {
    light,
    sigma(film) {
      const code = codeOf(film)
      const reach = Math.max(1, Math.round(noise(code)))
      const from = Math.max(0, code - reach)
      const to = Math.min(65535, code + reach)
      return ((light[to]! - light[from]!) / (to - from)) * noise(code)
    },
  }
}

/** How much the brighter scans are heard at a light: not at all above `REFERENCE_ALONE`. */
function heard(light: number): number {
  if (light <= ALL_SPEAK) return 1
  if (light >= REFERENCE_ALONE) return 0
  return Math.log(REFERENCE_ALONE / light) / Math.log(REFERENCE_ALONE / ALL_SPEAK)
}

/** Share of each scan where none but the clipped ones is missing. */
function sharesOf(light: number, readers: readonly Reader[], exposures: ExposureFit): number[] {
  const clip = readers.map(r => r.light[NEARLY_CLIPPED]!)
  const open = readers.map(r => r.light[NEARLY_CLIPPED - CLIP_RAMP]!)
  const weights = readers.map((r, k) => {
    const ramp = k === 0 ? 1 : Math.min(1, Math.max(0, (clip[k]! - light) / (clip[k]! - open[k]!))) * heard(light)
    return ramp / r.sigma(light) ** 2
  })
  const sum = weights.reduce((a, b) => a + b, 0)
  return exposures.ratios.map((_, k) => weights[k]! / sum)
}

/** Entries of the table of weights over the fused code. */
const WEIGHT_SHIFT = 4

function fusedScan(
  all: readonly OpenScan[],
  used: readonly Seen[],
  shifts: readonly { readonly column: number; readonly row: number }[],
  readers: readonly Reader[],
  codes: FusedCodes,
): OpenScan {
  const reference = used[0]!.scan
  const { width } = reference.header
  const count = used.length
  const size = (65536 >> WEIGHT_SHIFT) + 1
  // Weight of each scan by the light first seen there, the ramp at its top apart.
  const weights = readers.map((r, k) =>
    Float64Array.from({ length: size }, (_, i) => {
      const light = codes.light(i << WEIGHT_SHIFT)
      return (k === 0 ? 1 : heard(light)) / r.sigma(light) ** 2
    }),
  )
  const alone = Uint16Array.from({ length: 65536 }, (_, code) =>
    code === 65535 ? 65535 : Math.round(codes.code(readers[0]!.light[code]!)),
  )
  // Light of the reference above which no noise brings a pixel down to where the others are heard.
  const bright = readers[0]!.light.findIndex(light => light > REFERENCE_ALONE + 6 * readers[0]!.sigma(REFERENCE_ALONE))
  const whole = shifts.map(s => ({ column: Math.floor(s.column), row: Math.floor(s.row) }))
  const part = shifts.map((s, k) => ({ column: s.column - whole[k]!.column, row: s.row - whole[k]!.row }))

  const fuse = (rect: PixelRect, from: Uint16Array): Uint16Array => {
    const out = new Uint16Array(rect.width * rect.height)
    const others = used.map(({ scan }, k) => (k === 0 ? null : reachable(scan, rect, whole[k]!)))
    const lights = new Float64Array(count)
    const ramps = new Float64Array(count)
    for (let r = 0; r < rect.height; r++)
      for (let c = 0; c < rect.width; c++) {
        const i = r * rect.width + c
        const code = from[i]!
        if (code >= bright && bright >= 0) {
          out[i] = alone[code]!
          continue
        }
        lights[0] = readers[0]!.light[code]!
        ramps[0] = 1
        let first = lights[0]!
        let missing = true
        for (let k = 1; k < count; k++) {
          const window = others[k]
          ramps[k] = 0
          if (window === null || window === undefined) continue
          const column = rect.column + c + whole[k]!.column - window.column
          const row = rect.row + r + whole[k]!.row - window.row
          if (!(column >= 0 && row >= 0 && column + 1 < window.width && row + 1 < window.height)) continue
          const at = row * window.width + column
          const p = window.codes[at]!
          const q = window.codes[at + 1]!
          const s = window.codes[at + window.width]!
          const t = window.codes[at + window.width + 1]!
          const most = Math.max(p, q, s, t)
          if (most >= NEARLY_CLIPPED) continue
          const table = readers[k]!.light
          const { column: fc, row: fr } = part[k]!
          lights[k] = (table[p]! * (1 - fc) + table[q]! * fc) * (1 - fr) + (table[s]! * (1 - fc) + table[t]! * fc) * fr
          ramps[k] = Math.min(1, (NEARLY_CLIPPED - most) / CLIP_RAMP)
          // The longest exposure that holds the pixel says best where on the scale it lies.
          first = lights[k]!
          missing = false
        }
        if (missing) {
          out[i] = alone[code]!
          continue
        }
        const place = Math.round(codes.code(first)) >> WEIGHT_SHIFT
        let sum = 0
        let total = 0
        for (let k = 0; k < count; k++) {
          const weight = ramps[k]! * weights[k]![place]!
          sum += weight * lights[k]!
          total += weight
        }
        out[i] = Math.round(codes.code(sum / total))
      }
    return out
  }
  return {
    header: {
      ...reference.header,
      warnings: [...new Set(used.flatMap(({ scan }) => scan.header.warnings))],
    },
    readWindow: rect => ({ ...rect, codes: fuse(rect, reference.readWindow(rect).codes) }),
    forEachBand(visit) {
      reference.forEachBand(band => {
        const rect = { column: 0, row: band.row, width, height: band.height }
        visit({ ...rect, codes: fuse(rect, band.codes) })
      })
    },
    close() {
      for (const scan of all) scan.close()
    },
  }

  /** The window of another scan under a window of the reference, one pixel wider, as far as it goes. */
  function reachable(scan: OpenScan, rect: PixelRect, shift: { column: number; row: number }): CodeWindow | null {
    const left = Math.max(0, rect.column + shift.column)
    const top = Math.max(0, rect.row + shift.row)
    const right = Math.min(scan.header.width, rect.column + shift.column + rect.width + 1)
    const bottom = Math.min(scan.header.height, rect.row + shift.row + rect.height + 1)
    if (!(right - left >= 2 && bottom - top >= 2)) return null
    return scan.readWindow({ column: left, row: top, width: right - left, height: bottom - top })
  }
}
