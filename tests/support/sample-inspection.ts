import type { Calibration } from '../../src/model/calibration.js'
import type { PixelPoint } from '../../src/model/geometry.js'
import type { Finding, Inspection, Verdict } from '../../src/model/inspection.js'
import type { JobType, Limit } from '../../src/model/job-type.js'
import type { DensityScan } from '../../src/model/light.js'
import type { EdgeProfile, MeasuredScan, Outline } from '../../src/model/measured.js'
import { type Bound, type Part, READINGS, type Reading, type ReadingName, type Unit } from '../../src/model/reading.js'
import type { SiteSettings } from '../../src/model/site.js'
import type { BoardRow } from '../../src/model/store.js'
import { cropPicture } from '../../src/report/crop-picture.js'
import type { InspectionPageInput } from '../../src/report/inspection-page.js'
import { pagePicture } from '../../src/report/page-picture.js'
import { memoryScan } from './memory-scan.js'

export type SampleCase = 'pass' | 'fail' | 'recheck' | 'uncalibrated' | 'bound'

/** An A5 film on a 600 dpi scan. */
const DPI = 600
const WIDTH = 3496
const HEIGHT = 4961
const BLOCK = 6
const MM = DPI / 25.4

export const SAMPLE_SITE: SiteSettings = {
  shop: 'Tidewater Screenworks',
  defaultJobType: 'fine-line',
  fileName: '<positive>[__<anything>].<ext>',
  lengthUnit: 'mm',
  rulingUnit: 'lines/in',
  channel: 'grey',
  meshes: [],
  calibrationMaxAgeDays: 30,
  settleSeconds: 5,
  sidecarWaitSeconds: 60,
  bracketWaitSeconds: 120,
  usePolling: false,
  inkSideUp: null,
  workers: 1,
  storage: 'sqlite',
  retentionDays: null,
  scanners: { 'flatbed-a': { dpi: DPI } },
}

export const SAMPLE_JOB_TYPE: JobType = {
  name: 'fine-line',
  description: 'Text and strokes down to 0.15 mm',
  limits: {
    solidDensity: { min: 3, aim: 3.8, why: 'below 3.0 light comes through in a long exposure' },
    solidDensityLowest: { min: 2.8, why: 'the thinnest solid decides where pinholes begin' },
    baseDensity: { max: 0.1 },
    riseWidth: { max: 60, why: 'a softer edge moves with every change of exposure' },
    riseWidthWorst: { max: 80 },
    fringeWidth: { max: 90 },
    raggedness: { max: 12 },
  },
  rule: 'guarded',
  rescanEveryDays: 30,
  printed: {},
}

/** Invented numbers of one inspection, in the order value, U. */
interface Numbers {
  readonly solid: readonly [number, number]
  readonly lowest: readonly [number, number]
  readonly base: readonly [number, number]
  readonly rise: readonly [number, number]
  readonly riseWorst: readonly [number, number]
  readonly fringe: readonly [number, number] | null
  readonly spread: readonly [number, number] | null
  readonly ragged: readonly [number, number]
  readonly solidBound?: Bound
  readonly riseBound?: Bound
}

const NUMBERS: Readonly<Record<SampleCase, Numbers>> = {
  pass: {
    solid: [3.463, 0.052],
    lowest: [3.281, 0.047],
    base: [0.0583, 0.0064],
    rise: [34.21, 2.43],
    riseWorst: [46.83, 3.12],
    fringe: [52.4, 6.1],
    spread: [17.2, 1.84],
    ragged: [4.31, 0.62],
  },
  fail: {
    solid: [3.187, 0.044],
    lowest: [2.594, 0.038],
    base: [0.0612, 0.0066],
    rise: [57.94, 3.87],
    riseWorst: [96.2, 5.21],
    fringe: [88.6, 9.7],
    spread: [31.3, 2.6],
    ragged: [7.88, 0.94],
  },
  recheck: {
    solid: [3.028, 0.049],
    lowest: [2.941, 0.045],
    base: [0.0641, 0.0065],
    rise: [41.06, 2.71],
    riseWorst: [55.37, 3.4],
    fringe: [61.9, 6.6],
    spread: [21.4, 1.97],
    ragged: [5.12, 0.71],
  },
  uncalibrated: {
    solid: [1.794, 0.012],
    lowest: [1.713, 0.012],
    base: [0.0312, 0.004],
    rise: [48.11, 4.4],
    riseWorst: [66.28, 5.8],
    fringe: null,
    spread: null,
    ragged: [5.4, 0.8],
  },
  bound: {
    solid: [3.318, 0.061],
    lowest: [3.318, 0.061],
    base: [0.0571, 0.0063],
    rise: [27.92, 3.6],
    riseWorst: [39.1, 3.3],
    fringe: [38.4, 7.2],
    spread: [11.9, 2.2],
    ragged: [3.86, 0.58],
    solidBound: 'atLeast',
    riseBound: 'atMost',
  },
}

const DEPTHS: Readonly<Record<SampleCase, number>> = {
  pass: 3.46,
  fail: 3.19,
  recheck: 3.03,
  uncalibrated: 3.2,
  bound: 3.6,
}
const SIGMAS: Readonly<Record<SampleCase, number>> = { pass: 17, fail: 31, recheck: 21, uncalibrated: 22, bound: 12 }

const SOLIDS: readonly {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}[] = [
  { left: 30, top: 38, width: 26, height: 70 },
  { left: 62, top: 38, width: 50, height: 18 },
  { left: 62, top: 64, width: 18, height: 44 },
  { left: 92, top: 64, width: 20, height: 44 },
  { left: 30, top: 118, width: 82, height: 12 },
]
const LOWEST_SOLID = 3

/**
 * A whole input for the inspection page, as the pipeline would hand it over. Film, profiles and numbers are invented
 * and hang together: they are for looking at, and prove nothing of measuring.
 */
export async function sampleInspection(
  which: SampleCase,
  change: { positive?: string; file?: string; note?: string; site?: Partial<SiteSettings>; history?: boolean } = {},
): Promise<InspectionPageInput> {
  const calibration = which === 'uncalibrated' ? null : sampleCalibration()
  const site = { ...SAMPLE_SITE, ...change.site }
  const jobType = sampleJobType(which)
  const readings = sampleReadings(NUMBERS[which])
  const inspection = sampleRecord(which, readings, jobType, change)
  const measured = await measuredOnce(which, readings)
  const history = change.history === false || which === 'bound' ? [] : sampleHistory(inspection)
  return { inspection, measured, jobType, calibration, history, site }
}

/** Drawing the film takes the most of a second; its pixels never change. */
const drawn = new Map<SampleCase, Promise<MeasuredScan>>()

function measuredOnce(which: SampleCase, readings: Partial<Record<ReadingName, Reading>>): Promise<MeasuredScan> {
  const found = drawn.get(which) ?? sampleMeasured(which, readings)
  drawn.set(which, found)
  return found
}

function sampleJobType(which: SampleCase): JobType {
  if (which !== 'bound') return SAMPLE_JOB_TYPE
  return {
    ...SAMPLE_JOB_TYPE,
    name: 'halftone',
    description: 'Tints of 45 to 65 lines per inch',
    limits: { ...SAMPLE_JOB_TYPE.limits, solidDensity: { min: 3.5, aim: 3.8 } },
  }
}

function edgePlace(index: number): { from: PixelPoint; to: PixelPoint; direction: 'across' | 'along' } {
  const solid = SOLIDS[index % SOLIDS.length]!
  const left = solid.left * MM
  const top = solid.top * MM
  const right = (solid.left + solid.width) * MM
  const bottom = (solid.top + solid.height) * MM
  const inset = 3 * MM
  return index < SOLIDS.length
    ? { from: onFilm(left, top + inset), to: onFilm(left, bottom - inset), direction: 'across' }
    : { from: onFilm(left + inset, bottom), to: onFilm(right - inset, bottom), direction: 'along' }
}

/** The film lies turned by a degree. */
const TILT = (1.1 * Math.PI) / 180
function onFilm(column: number, row: number): PixelPoint {
  const c = column - WIDTH / 2
  const r = row - HEIGHT / 2
  return {
    column: WIDTH / 2 + c * Math.cos(TILT) - r * Math.sin(TILT),
    row: HEIGHT / 2 + c * Math.sin(TILT) + r * Math.cos(TILT),
  }
}

function rectangle(leftMm: number, topMm: number, widthMm: number, heightMm: number): readonly PixelPoint[] {
  return [
    onFilm(leftMm * MM, topMm * MM),
    onFilm((leftMm + widthMm) * MM, topMm * MM),
    onFilm((leftMm + widthMm) * MM, (topMm + heightMm) * MM),
    onFilm(leftMm * MM, (topMm + heightMm) * MM),
  ]
}

/** Density of the drawn film at a pixel: open light about it, base, solids, one tint, fine strokes. */
function filmDensity(column: number, row: number, depth: number, weak: number): number {
  const c = column - WIDTH / 2
  const r = row - HEIGHT / 2
  const x = (WIDTH / 2 + c * Math.cos(TILT) + r * Math.sin(TILT)) / MM
  const y = (HEIGHT / 2 - c * Math.sin(TILT) + r * Math.cos(TILT)) / MM
  if (x < 12 || y < 14 || x > 136 || y > 196) return 0
  for (let i = 0; i < SOLIDS.length; i++) {
    const solid = SOLIDS[i]!
    if (x >= solid.left && x < solid.left + solid.width && y >= solid.top && y < solid.top + solid.height)
      return i === LOWEST_SOLID ? weak + 0.15 * Math.sin(y * 2) : depth
  }
  if (x >= 30 && x < 68 && y >= 138 && y < 160) return 0.35
  if (x >= 74 && x < 112 && y >= 138 && y < 160) return 0.9
  if (y >= 168 && y < 184 && x >= 30 && x < 112 && (x - 30) % 4 < 0.4 + ((x - 30) / 82) * 1.4) return depth
  return 0.06
}

async function sampleMeasured(
  which: SampleCase,
  readings: Partial<Record<ReadingName, Reading>>,
): Promise<MeasuredScan> {
  const depth = DEPTHS[which]
  const weak = which === 'fail' ? 2.55 : depth - 0.15
  const columns = Math.ceil(WIDTH / BLOCK)
  const rows = Math.ceil(HEIGHT / BLOCK)
  const transmittance = new Float32Array(columns * rows)
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++)
      transmittance[row * columns + column] =
        10 ** -filmDensity((column + 0.5) * BLOCK, (row + 0.5) * BLOCK, depth, weak)
  const page = await pagePicture({ columns, rows, transmittance, blockPx: BLOCK, scanWidth: WIDTH, scanHeight: HEIGHT })
  const crops = [
    await sampleCrop(which, `edge-${edgeOrder(0)}`, 'The softest edge'),
    await sampleCrop(which, `solid-${LOWEST_SOLID + 1}`, 'The lowest solid'),
  ]
  const outlines: Outline[] = [
    { id: 'film', kind: 'film', corners: rectangle(12, 14, 124, 182) },
    { id: 'openLight', kind: 'openLight', corners: rectangle(3, 3, 142, 7) },
    { id: 'base-1', kind: 'base', corners: rectangle(16, 20, 10, 10) },
    { id: 'base-2', kind: 'base', corners: rectangle(120, 100, 10, 10) },
    { id: 'base-3', kind: 'base', corners: rectangle(116, 180, 10, 10) },
    ...SOLIDS.map((solid, i) => ({
      id: `solid-${i + 1}`,
      kind: 'solid' as const,
      corners: rectangle(solid.left + 0.5, solid.top + 0.5, solid.width - 1, solid.height - 1),
    })),
  ]
  const edges = Array.from({ length: 10 }, (_, i) => sampleEdge(which, i))
  return {
    header: {
      file: 'inbox/fine-line/HARBOR-17_front__second.tif',
      format: 'tiff',
      width: WIDTH,
      height: HEIGHT,
      dpi: { across: DPI, along: DPI },
      bits: 16,
      channels: 1,
      channel: 'grey',
      compression: 'none',
      maker: null,
      model: null,
      taggedAt: '2025-03-04T09:12:31',
      warnings: which === 'uncalibrated' ? ['The colour profile in the file was ignored.'] : [],
    },
    dpi: { across: DPI, along: DPI, from: 'file' },
    response: which === 'uncalibrated' ? 'unknown' : 'calibrated',
    readings,
    notMeasured:
      which === 'uncalibrated'
        ? [
            {
              reading: 'fringeWidth',
              because: 'The fringe is a matter of density, which needs a calibration.',
              next: 'Calibrate the scanner.',
            },
            {
              reading: 'inkSpread',
              because: 'The ink model needs the scanner’s line spread.',
              next: 'Calibrate with an edge scan.',
            },
          ]
        : [],
    notes: which === 'pass' ? ['Open light stands 0.6 % from the calibration’s; corrected.'] : [],
    doubts: [],
    edges,
    outlines,
    page,
    crops,
  }
}

/** Number of the nth softest edge: the softest is not the first on the page. */
function edgeOrder(index: number): number {
  return ((index * 3 + 6) % 10) + 1
}

async function sampleCrop(which: SampleCase, id: string, caption: string) {
  const side = 140
  const codes = new Uint16Array(side * side)
  const depth = DEPTHS[which]
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const wander = 1.2 * Math.sin(row / 9) + 0.8 * Math.sin(row / 3.1)
      const x = ((column - side / 2 - row * 0.03 + wander) * 25_400) / DPI
      const density = id.startsWith('edge')
        ? 0.06 + depth * normal(-x / (2 * SIGMAS[which]))
        : depth - 0.25 + 0.35 * Math.sin(row / 7) + 0.08 * Math.sin(column * 12.9898 + row * 78.233)
      codes[row * side + column] = Math.round(60_000 * 10 ** -density)
    }
  }
  const table = Float32Array.from({ length: 65_536 }, (_, code) => code / 60_000)
  const scan: DensityScan = {
    scan: memoryScan(codes, side, side, DPI),
    light: {
      calibrated: true,
      transmittance: table,
      density: () => {
        throw new Error('not asked of a sample')
      },
      code: t => t * 60_000,
      deepest: 3.6,
      lineSpread: { across: null, along: null },
    },
    umPerPixel: { across: 25_400 / DPI, along: 25_400 / DPI },
  }
  return cropPicture(scan, { column: 0, row: 0, width: side, height: side }, id, caption)
}

function sampleEdge(which: SampleCase, index: number): EdgeProfile {
  const order = Array.from({ length: 10 }, (_, i) => edgeOrder(i)).indexOf(index + 1)
  const sigma = SIGMAS[which] * (1.35 - 0.06 * order)
  const depth = DEPTHS[which]
  const scanner = 14
  const distanceUm: number[] = []
  const model: number[] = []
  const transmittance: number[] = []
  for (let x = -220; x <= 220; x += 4) {
    distanceUm.push(x)
    let light = 0
    let weight = 0
    for (let u = -48; u <= 48; u += 4) {
      const w = Math.exp(-0.5 * (u / scanner) ** 2)
      light += w * 10 ** -(0.058 + depth * normal(-(x - u) / sigma))
      weight += w
    }
    model.push(light / weight)
    transmittance.push(
      light / weight +
        0.004 * Math.sin(x * 0.9 + index) +
        (which === 'fail' && order === 0 && x > 70 ? -0.14 * Math.exp(-(x - 70) / 60) * Math.min(1, (x - 70) / 20) : 0),
    )
  }
  const clear = 10 ** -0.058
  const dark = 10 ** -(0.058 + depth)
  const at = (share: number) => {
    const level = dark + share * (clear - dark)
    const i = transmittance.findIndex(t => t >= level)
    const before = transmittance[i - 1]!
    return distanceUm[i - 1]! + (4 * (level - before)) / (transmittance[i]! - before)
  }
  const at10 = at(0.1)
  const at90 = at(0.9)
  const seenRise = at90 - at10
  const known = which !== 'uncalibrated'
  return {
    id: `edge-${index + 1}`,
    ...edgePlace(index),
    tilt: 1.1,
    lengthMm: 8.4,
    distanceUm,
    transmittance,
    model: known ? model : null,
    clear,
    dark,
    at10,
    at90,
    seenRise,
    filmRise: known ? Math.sqrt(Math.max(0, seenRise ** 2 - (2.5631 * scanner) ** 2)) : null,
    inkSpread: known ? sigma : null,
  }
}

/** Normal distribution function, Abramowitz & Stegun 26.2.17 (from memory): good to 1e-7, more than a picture needs. */
function normal(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z))
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
  return z >= 0 ? 1 - tail : tail
}

function sampleReadings(numbers: Numbers): Partial<Record<ReadingName, Reading>> {
  const solids = SOLIDS.map((solid, i): Part => {
    const low = i === LOWEST_SOLID
    return {
      id: `solid-${i + 1}`,
      place: onFilm((solid.left + solid.width / 2) * MM, (solid.top + solid.height / 2) * MM),
      value: low ? numbers.lowest[0] : numbers.solid[0] + [0, 0.031, -0.024, 0, 0.012][i]!,
      expanded: numbers.solid[1],
      bound: numbers.solidBound ?? null,
      ...(low ? { note: 'ripple along the feed' } : {}),
    }
  })
  const bases = [1, 2, 3].map(
    (n): Part => ({
      id: `base-${n}`,
      place: onFilm([21, 125, 121][n - 1]! * MM, [25, 105, 185][n - 1]! * MM),
      value: numbers.base[0] + (n - 2) * 0.0011,
      expanded: numbers.base[1],
      bound: null,
    }),
  )
  const edges = Array.from({ length: 10 }, (_, i): Part => {
    const order = Array.from({ length: 10 }, (_, k) => edgeOrder(k)).indexOf(i + 1)
    const { from, to } = edgePlace(i)
    const share = order === 0 ? 1 : (9 - order) / 16
    return {
      id: `edge-${i + 1}`,
      place: { column: (from.column + to.column) / 2, row: (from.row + to.row) / 2 },
      value: numbers.rise[0] + share * (numbers.riseWorst[0] - numbers.rise[0]),
      expanded: numbers.rise[1] * 1.6,
      bound: null,
    }
  })
  const density = [
    { name: 'tablet certificate', standard: 0.5 },
    { name: 'black level', standard: 0.32 },
    { name: 'curve between steps', standard: 0.22 },
    { name: 'pixel noise', standard: 0.06 },
  ]
  const width = [
    { name: 'scanner edge', standard: 0.55 },
    { name: 'edge fit', standard: 0.31 },
    { name: 'edges among each other', standard: 0.29 },
  ]
  const make = (
    pair: readonly [number, number],
    unit: Unit,
    parts: readonly Part[],
    method: string,
    bound: Bound | null = null,
  ): Reading => ({
    value: pair[0],
    unit,
    expanded: pair[1],
    bound,
    n: parts.length,
    parts,
    budget: share(unit === 'D' ? density : width, pair[1]),
    method,
  })
  const solidBound = numbers.solidBound ?? null
  return {
    baseDensity: make(numbers.base, 'D', bases, 'base-density@1'),
    solidDensity: make(numbers.solid, 'D', solids, 'solid-density@1', solidBound),
    solidDensityLowest: make(numbers.lowest, 'D', [solids[LOWEST_SOLID]!], 'solid-density@1', solidBound),
    riseWidth: make(numbers.rise, 'um', edges, 'rise-width@1', numbers.riseBound ?? null),
    riseWidthWorst: make(numbers.riseWorst, 'um', [edges[edgeOrder(0) - 1]!], 'rise-width@1'),
    ...(numbers.fringe === null ? {} : { fringeWidth: make(numbers.fringe, 'um', edges, 'fringe-width@1') }),
    ...(numbers.spread === null ? {} : { inkSpread: make(numbers.spread, 'um', edges, 'ink-spread@1') }),
    raggedness: make(numbers.ragged, 'um', edges, 'raggedness@1'),
  }
}

/** Components scaled so that twice their root sum of squares is U. */
function share(components: readonly { name: string; standard: number }[], expanded: number) {
  const sum = Math.sqrt(components.reduce((total, c) => total + c.standard ** 2, 0))
  return components.map(c => ({ name: c.name, standard: ((c.standard / sum) * expanded) / 2 }))
}

function sampleRecord(
  which: SampleCase,
  readings: Partial<Record<ReadingName, Reading>>,
  jobType: JobType,
  change: { positive?: string; file?: string; note?: string },
): Inspection {
  const findings = sampleFindings(which, readings, jobType)
  return {
    schema: 'burngate/inspection@1',
    id: `20250304T091231Z-9f2c41aa-${which}`,
    positive: change.positive ?? 'HARBOR-17 front',
    positiveFrom: 'fileName',
    jobType: jobType.name,
    jobTypeFrom: 'folder',
    scannedAt: '2025-03-04T09:12:31Z',
    scannedAtFrom: 'tag',
    inspectedAt: '2025-03-04T09:13:02Z',
    verdict: findings[0]!.verdict,
    findings,
    readings,
    notes: [],
    growth: null,
    scan: {
      file: change.file ?? 'HARBOR-17 front__second.tif',
      sha256: '9f2c41aa6d1be0f3c57a90d24be8f7716c03d95ab2e4f81700c9d6a35e18b742',
      width: WIDTH,
      height: HEIGHT,
      dpi: [DPI, DPI],
      bits: 16,
      channels: 1,
      channel: 'grey',
    },
    scanner:
      which === 'uncalibrated'
        ? null
        : {
            name: 'flatbed-a',
            calibratedAt: '2025-02-24T07:40:00Z',
            deepest: 3.318,
            riseWidth: 36.1,
            tablet: 'nominal-21',
          },
    told: {
      printer: 'printer-1',
      stock: 'stock-a',
      humidity: 52,
      ...(change.note === undefined ? {} : { note: change.note }),
    },
    software: 'burngate 0.1.0',
    tookMs: 8140,
  }
}

/** Plain judging of the sample, so that words, limits and numbers agree. */
function sampleFindings(
  which: SampleCase,
  readings: Partial<Record<ReadingName, Reading>>,
  jobType: JobType,
): readonly Finding[] {
  const findings: Finding[] = []
  if (which === 'uncalibrated')
    findings.push({
      reading: 'scan',
      verdict: 'recheck',
      limit: null,
      why: 'No calibration fits this scan, so its densities are code density and nothing on it can pass.',
      next: 'Calibrate the scanner (five minutes, below), then drop this scan again.',
    })
  for (const [name, limit] of Object.entries(jobType.limits) as [ReadingName, Limit][]) {
    const reading = readings[name]
    if (reading === undefined) {
      findings.push({
        reading: name,
        verdict: 'recheck',
        limit,
        why: 'It could not be measured: the fringe is a matter of density, which needs a calibration.',
        next: 'Calibrate the scanner, then drop this scan again.',
      })
      continue
    }
    const verdict = which === 'uncalibrated' ? 'recheck' : judge(reading, limit)
    const asked = limit.min === undefined ? `at most ${limit.max}` : `at least ${limit.min}`
    findings.push({
      reading: name,
      verdict,
      limit,
      why:
        which === 'uncalibrated'
          ? 'The response of the scanner is unknown, so this cannot be judged.'
          : {
              pass: `${READINGS[name].label} meets the limit of ${asked} with all of its uncertainty.`,
              fail: `${READINGS[name].label} misses the limit of ${asked} by more than its uncertainty.`,
              recheck: `${READINGS[name].label} is nearer to the limit of ${asked} than its uncertainty, or too deep for this scanner to tell.`,
            }[verdict],
      next:
        verdict === 'pass'
          ? ''
          : verdict === 'fail'
            ? 'Print it again: check ink level and nozzles first.'
            : 'Scan it again with a bracket of two exposures, or read the solid with a densitometer.',
    })
  }
  const rank = { fail: 0, recheck: 1, pass: 2 }
  return findings.sort((a, b) => rank[a.verdict] - rank[b.verdict])
}

function judge(reading: Reading, limit: Limit): Verdict {
  const low = reading.bound === 'atMost' ? Number.NEGATIVE_INFINITY : reading.value - reading.expanded
  const high = reading.bound === 'atLeast' ? Number.POSITIVE_INFINITY : reading.value + reading.expanded
  const least = limit.min ?? Number.NEGATIVE_INFINITY
  const most = limit.max ?? Number.POSITIVE_INFINITY
  if (low >= least && high <= most) return 'pass'
  return high < least || low > most ? 'fail' : 'recheck'
}

/** Four earlier inspections, the oldest under another calibration. */
function sampleHistory(today: Inspection): readonly Inspection[] {
  return [92, 61, 33, 12].map((days, i): Inspection => {
    const at = new Date(Date.parse(today.scannedAt) - days * 86_400_000).toISOString()
    const fresher = (name: ReadingName, step: number) => {
      const reading = today.readings[name]
      return reading === undefined ? {} : { [name]: { ...reading, value: reading.value + step * (4 - i) } }
    }
    return {
      ...today,
      id: `${today.id}-${days}`,
      scannedAt: at,
      inspectedAt: at,
      verdict: i === 3 ? today.verdict : 'pass',
      readings: {
        ...today.readings,
        ...fresher('solidDensity', 0.018),
        ...fresher('solidDensityLowest', 0.021),
        ...fresher('riseWidth', -1.7),
        ...fresher('riseWidthWorst', -2.2),
      },
      scanner:
        today.scanner === null || i > 0 ? today.scanner : { ...today.scanner, calibratedAt: '2024-11-29T10:00:00Z' },
    }
  })
}

export function sampleCalibration(): Calibration {
  const steps = Array.from({ length: 21 }, (_, i) => {
    const density = 0.05 + 0.15 * i
    return {
      step: i + 1,
      density,
      expanded: 0.03 + (0.07 * i) / 20,
      code: 210 + 60_000 * 10 ** (-density / 1.8),
      codeError: 2.1,
      pixelNoise: 38,
      trusted: density < 2.95,
      residual: 0.004 * Math.sin(i),
      column: 300 + 40 * i,
      row: 120,
    }
  })
  const weights = Array.from({ length: 41 }, (_, i) => Math.exp(-0.5 * (((i - 20) * 4) / 14) ** 2))
  const sum = weights.reduce((a, b) => a + b, 0)
  const spread = { riseWidth: 36.1, riseWidthExpanded: 1.2, stepUm: 4, weights: weights.map(w => w / sum) }
  return {
    schema: 'burngate/calibration@1',
    scanner: 'flatbed-a',
    calibratedAt: '2025-02-24T07:40:00Z',
    software: 'burngate 0.1.0',
    tablet: { name: 'nominal-21', nominal: true, sha256: 'b'.repeat(64) },
    scan: {
      file: 'tablet.tif',
      sha256: 'c'.repeat(64),
      dpi: { across: DPI, along: DPI },
      bits: 16,
      channel: 'grey',
      maker: null,
      model: null,
    },
    steps,
    response: {
      knots: steps.filter(s => s.trusted).map(s => ({ code: s.code, density: s.density, standardError: 0.02 })),
      black: 210,
      blackError: 6,
      gain: 60_000,
      gamma: 1.8,
      fitResidual: 0.006,
    },
    openLight: { code: 60_210, clippedShare: 0, pixelNoise: 120 },
    dark: { code: 212, codeError: 3, pixelNoise: 22 },
    deepest: 3.318,
    sharpness: {
      sha256: 'd'.repeat(64),
      dpi: { across: DPI, along: DPI },
      across: spread,
      along: { ...spread, riseWidth: 33.4 },
    },
    warnings: [],
  }
}

/** Rows of a board: invented positives, the nth scanned n times 37 minutes before `now`. */
export function sampleBoardRows(count: number, now: Date): readonly BoardRow[] {
  const names = ['HARBOR', 'KITE', 'LANTERN', 'MILL', 'ORCHARD', 'PIER', 'QUARRY']
  const sides = ['front', 'back', 'white underbase', 'highlight']
  return Array.from({ length: count }, (_, i): BoardRow => {
    const verdict: Verdict = i % 9 === 4 ? 'fail' : i % 7 === 2 ? 'recheck' : 'pass'
    const at = new Date(now.getTime() - (i * 37 + 4) * 60_000).toISOString()
    return {
      id: `sample-${i}`,
      positive: `${names[i % names.length]}-${17 + i} ${sides[i % sides.length]}`,
      jobType: ['fine-line', 'bold', 'halftone'][i % 3]!,
      scannedAt: at,
      inspectedAt: at,
      verdict,
      why: {
        pass: 'Every limit is met with all of its uncertainty.',
        recheck: 'Solid density 3.03 ± 0.05 D is nearer to its limit of 3.00 D than its uncertainty.',
        fail: 'Lowest solid 2.59 ± 0.04 D is below its limit of 2.80 D.',
      }[verdict],
      next: {
        pass: '',
        recheck: 'Scan it again with a bracket of two exposures, or read the solid with a densitometer.',
        fail: 'Print it again: check ink level and nozzles first.',
      }[verdict],
      earlier: i % 4,
    }
  })
}
