import { blockOverview } from '../imaging/block-overview.js'
import { fitAffine, fitSimilarity, mapped, type PlaneMap, type PointPair } from '../imaging/fit-plane-map.js'
import { lightField } from '../imaging/light-field.js'
import { median } from '../imaging/robust.js'
import { studentT95 } from '../imaging/student-t.js'
import type { GridScale } from '../model/calibration.js'
import type { LightScale } from '../model/light.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import { type GridKind, type GridNode, gridNodes, readAgain } from './grid-nodes.js'

/** Blocks a pitch in the overview in which the grid is looked for. */
const BLOCKS_A_PITCH = 8
/** A pitch takes at least this many pixels, or its marks cannot be told. */
const LEAST_PITCH_PX = 16
/** Side of a search window and how far the next one lies, pitches. */
const WINDOW = 5
const HOP = 2
const MOST_WINDOWS = 500
/** The grid may lie this far off the scan's axes, degrees, and is looked for in steps of one. */
const MOST_TURN = 12
/** Windows tried, most like a grid first. */
const MOST_TRIES = 12
const LEAST_EACH_WAY = 5
const LEAST_NODES = LEAST_EACH_WAY * LEAST_EACH_WAY
/** Scanners are this near to the resolution they say; a grid further off has another pitch. */
const SCALE_WITHIN = 0.02
const SQUARE_WITHIN_DEGREES = 1
/** Nodes further from the even grid than this many robust deviations, and than any carriage wobbles, mm, are left out (dust, scratches). */
const OUTLIER_SIGMAS = 5
const OUTLIER_MM = 0.02
const MOST_OUTLIERS = 0.1
/** The nodes may miss an even grid by this much, mm rms: more is a bent or moved grid. */
const MOST_RESIDUAL_MM = 0.1
/** Blocks each way that are left out in turn for the uncertainty. */
const JACKKNIFE = 3
/** Areas each way of the residual map, at most. */
const MAP_AREAS = 6
/** What the method leaves on noise-free grids: share of the scale, degrees (from the tests). */
const METHOD_SHARE = 5e-6
const METHOD_DEGREES = 3e-4

/**
 * Size of the scanner's pixels from a scan of a grid of known pitch: dark lines, dots, squares or crosses on clear, opaque or nearly.
 * The nodes are found by the grid's own period, read as centroids of darkness in light, and fitted with an affine map that leaves
 * outliers out. True vectors of one pixel across and one down follow from its inverse, so that any turn of the grid cancels.
 * U (95 %): leave-one-block-out over 3 x 3 blocks of the grid (Quenouille, Biometrika 43, 353, 1956; from memory), which takes in that
 * neighbouring nodes err alike; it does not hold the grid's own uncertainty.
 * @param umPerPixel as the resolution says
 * @param pitchMm the grid's true pitch both ways, mm
 * @throws ProblemError GRID_NOT_FOUND, GRID_TOO_FEW, GRID_UNEVEN
 */
export function gridScale(
  scan: OpenScan,
  light: LightScale,
  umPerPixel: { readonly across: number; readonly along: number },
  pitchMm: number,
): GridScale {
  if (!(pitchMm > 0 && pitchMm < 1000)) throw new RangeError(`pitchMm must be above 0 and below 1000; got ${pitchMm}`)
  const pitchPx = { across: (1000 * pitchMm) / umPerPixel.across, along: (1000 * pitchMm) / umPerPixel.along }
  if (!(Math.min(pitchPx.across, pitchPx.along) >= LEAST_PITCH_PX))
    throw new ProblemError(
      'GRID_NOT_FOUND',
      `a pitch of ${pitchMm} mm is ${Math.min(pitchPx.across, pitchPx.along).toFixed(1)} px at this resolution; ${LEAST_PITCH_PX} are needed`,
    )
  const field = lightField(scan, light.transmittance, umPerPixel)
  let best: { readonly kind: GridKind; readonly nodes: GridNode[] } | null = null
  for (const start of startingMaps(scan, light, pitchPx)) {
    const found = gridNodes(field, start)
    if (found !== null && found.nodes.length > (best?.nodes.length ?? 0)) best = found
    if (best !== null && bigEnough(best.nodes)) break
  }
  if (best === null || best.nodes.length < 4)
    throw new ProblemError('GRID_NOT_FOUND', `no marks ${pitchMm} mm apart both ways`)
  refuseTooFew(best.nodes)
  // Read again where the whole grid says, twice: the windows then lie along the true axes.
  for (let round = 0; round < 2; round++) {
    const nodes = readAgain(field, pixelMap(best.nodes, pitchMm, umPerPixel), best)
    refuseTooFew(nodes)
    best = { kind: best.kind, nodes }
  }
  return scaleOf(best.nodes, umPerPixel, pitchMm)
}

function refuseTooFew(nodes: readonly GridNode[]): void {
  if (bigEnough(nodes)) return
  const { wide, high } = extent(nodes)
  throw new ProblemError(
    'GRID_TOO_FEW',
    `${nodes.length} nodes were read, ${wide} across and ${high} along; ${LEAST_EACH_WAY} x ${LEAST_EACH_WAY} are needed`,
  )
}

function bigEnough(nodes: readonly GridNode[]): boolean {
  const { wide, high } = extent(nodes)
  return nodes.length >= LEAST_NODES && wide >= LEAST_EACH_WAY && high >= LEAST_EACH_WAY
}

function extent(nodes: readonly GridNode[]): { readonly wide: number; readonly high: number } {
  return { wide: new Set(nodes.map(node => node.i)).size, high: new Set(nodes.map(node => node.j)).size }
}

/** Node numbers to pixels by a robust fit of all nodes. */
function pixelMap(
  nodes: readonly GridNode[],
  pitchMm: number,
  umPerPixel: { across: number; along: number },
): PlaneMap {
  const { map } = robustFit(pairsOf(nodes, umPerPixel, pitchMm))
  const perColumn = 1000 / umPerPixel.across
  const perRow = 1000 / umPerPixel.along
  return {
    x0: map.x0 * perColumn,
    y0: map.y0 * perRow,
    xx: map.xx * pitchMm * perColumn,
    xy: map.xy * pitchMm * perColumn,
    yx: map.yx * pitchMm * perRow,
    yy: map.yy * pitchMm * perRow,
  }
}

/** Grid places, mm, to scan places, mm by the resolution. */
function pairsOf(
  nodes: readonly GridNode[],
  umPerPixel: { readonly across: number; readonly along: number },
  pitchMm: number,
): PointPair[] {
  return nodes.map(({ i, j, column, row }) => ({
    fromX: i * pitchMm,
    fromY: j * pitchMm,
    toX: (column * umPerPixel.across) / 1000,
    toY: (row * umPerPixel.along) / 1000,
  }))
}

/** Affine fit with far-off nodes left out, until none is. */
function robustFit(pairs: readonly PointPair[]): { readonly map: PlaneMap; readonly used: Uint8Array } {
  let used = new Uint8Array(pairs.length).fill(1)
  let map = fitAffine(pairs)
  for (let round = 0; round < 10; round++) {
    const off = pairs.map(pair => {
      const { x, y } = offset(map, pair)
      return Math.hypot(x, y)
    })
    // Median of a Rayleigh distribution is 1.1774 sigma.
    const limit = Math.max((OUTLIER_SIGMAS * median(off)) / 1.1774, OUTLIER_MM)
    const next = Uint8Array.from(off, d => (d <= limit ? 1 : 0))
    if (next.every((value, i) => value === used[i])) break
    used = next
    map = fitAffine(pairs, used)
  }
  return { map, used }
}

function offset(map: PlaneMap, pair: PointPair): { readonly x: number; readonly y: number } {
  const even = mapped(map, pair.fromX, pair.fromY)
  return { x: pair.toX - even.x, y: pair.toY - even.y }
}

interface Shape {
  readonly across: number
  readonly along: number
  readonly squareness: number
}

/** True length of a nominal mm across and along, and the angle between them less 90 degrees. */
function shapeOf(map: PlaneMap): Shape {
  const determinant = map.xx * map.yy - map.xy * map.yx
  const [ax, ay] = [map.yy / determinant, -map.yx / determinant]
  const [bx, by] = [-map.xy / determinant, map.xx / determinant]
  const across = Math.hypot(ax, ay)
  const along = Math.hypot(bx, by)
  const cosine = (ax * bx + ay * by) / (across * along)
  return { across, along, squareness: (Math.acos(cosine) * 180) / Math.PI - 90 }
}

function scaleOf(
  all: readonly GridNode[],
  umPerPixel: { readonly across: number; readonly along: number },
  pitchMm: number,
): GridScale {
  const allPairs = pairsOf(all, umPerPixel, pitchMm)
  const { map, used } = robustFit(allPairs)
  const nodes = all.filter((_, i) => used[i] === 1)
  const pairs = allPairs.filter((_, i) => used[i] === 1)
  refuseTooFew(nodes)
  if (!(nodes.length >= (1 - MOST_OUTLIERS) * all.length))
    throw new ProblemError('GRID_UNEVEN', `${all.length - nodes.length} of ${all.length} nodes lie off the even grid`)
  const shape = shapeOf(map)
  if (!(Math.abs(shape.across - 1) <= SCALE_WITHIN && Math.abs(shape.along - 1) <= SCALE_WITHIN)) {
    const seen = (ratio: number) => (pitchMm / ratio).toFixed(3)
    throw new ProblemError(
      'GRID_NOT_FOUND',
      `the marks lie ${seen(shape.across)} mm apart across and ${seen(shape.along)} mm along by the resolution, not ${pitchMm} mm`,
    )
  }
  if (!(Math.abs(shape.squareness) <= SQUARE_WITHIN_DEGREES))
    throw new ProblemError(
      'GRID_UNEVEN',
      `its axes stand ${(90 + shape.squareness).toFixed(2)} degrees apart; 90 within ${SQUARE_WITHIN_DEGREES} can be`,
    )
  let square = 0
  for (const pair of pairs) {
    const { x, y } = offset(map, pair)
    square += x * x + y * y
  }
  const residualMm = Math.sqrt(square / pairs.length)
  if (!(residualMm <= MOST_RESIDUAL_MM))
    throw new ProblemError(
      'GRID_UNEVEN',
      `its nodes miss an even grid by ${residualMm.toFixed(3)} mm (rms); at most ${MOST_RESIDUAL_MM} mm can be`,
    )
  const spread = jackknife(nodes, pairs)
  const u = (standard: number, floor: number) => Math.hypot(studentT95(JACKKNIFE ** 2 - 1) * standard, 2 * floor)
  return {
    pitchMm,
    nodes: nodes.length,
    across: { value: shape.across, expanded: u(spread.across, METHOD_SHARE) },
    along: { value: shape.along, expanded: u(spread.along, METHOD_SHARE) },
    squareness: { value: shape.squareness, expanded: u(spread.squareness, METHOD_DEGREES) },
    turn: fitSimilarity(pairs).turn,
    residualMm,
    residuals: residualMap(nodes, pairs, map),
  }
}

/** Standard uncertainties: the grid cut into blocks, each left out in turn. */
function jackknife(nodes: readonly GridNode[], pairs: readonly PointPair[]): Shape {
  const block = blocksOf(nodes, JACKKNIFE)
  const shapes: Shape[] = []
  for (let b = 0; b < JACKKNIFE ** 2; b++) {
    const weights = block.map(own => (own === b ? 0 : 1))
    if (weights.every(w => w === 1)) continue
    shapes.push(shapeOf(fitAffine(pairs, weights)))
  }
  const standard = (of: (shape: Shape) => number) => {
    const values = shapes.map(of)
    const mean = values.reduce((sum, x) => sum + x, 0) / values.length
    return Math.sqrt(((values.length - 1) / values.length) * values.reduce((sum, x) => sum + (x - mean) ** 2, 0))
  }
  return { across: standard(s => s.across), along: standard(s => s.along), squareness: standard(s => s.squareness) }
}

/** Which of `each` x `each` even blocks of the grid a node belongs to. */
function blocksOf(nodes: readonly GridNode[], each: number): number[] {
  const part = (values: readonly number[]) => {
    const least = Math.min(...values)
    const count = Math.max(...values) - least + 1
    return values.map(value => Math.floor(((value - least) * each) / count))
  }
  const across = part(nodes.map(node => node.i))
  const along = part(nodes.map(node => node.j))
  return nodes.map((_, n) => along[n]! * each + across[n]!)
}

function residualMap(nodes: readonly GridNode[], pairs: readonly PointPair[], map: PlaneMap): GridScale['residuals'] {
  const { wide, high } = extent(nodes)
  // At least four nodes an area, so that each has a spread of its own.
  const each = Math.max(1, Math.min(MAP_AREAS, Math.floor(Math.min(wide, high) / 2)))
  const block = blocksOf(nodes, each)
  return Array.from({ length: each * each }, (_, b) => {
    const own = nodes.flatMap((_, n) => (block[n] === b ? [n] : []))
    if (own.length < 2) return null
    const off = own.map(n => offset(map, pairs[n]!))
    const mean = (of: (i: number) => number) => own.reduce((sum, _, i) => sum + of(i), 0) / own.length
    const acrossMm = mean(i => off[i]!.x)
    const alongMm = mean(i => off[i]!.y)
    const square = off.reduce((sum, o) => sum + (o.x - acrossMm) ** 2 + (o.y - alongMm) ** 2, 0)
    const freedom = 2 * (own.length - 1)
    return {
      column: mean(i => nodes[own[i]!]!.column),
      row: mean(i => nodes[own[i]!]!.row),
      acrossMm,
      alongMm,
      expandedMm: studentT95(freedom) * Math.sqrt(square / freedom / own.length),
      nodes: own.length,
    }
  }).filter(area => area !== null)
}

/**
 * Places to begin at, most like a grid first: in windows of a few pitches the first harmonic of darkness at the told pitch, at every
 * turn, both ways; its phases say where a node lies.
 */
function startingMaps(scan: OpenScan, light: LightScale, pitchPx: { across: number; along: number }): PlaneMap[] {
  const blockPx = Math.max(1, Math.floor(Math.min(pitchPx.across, pitchPx.along) / BLOCKS_A_PITCH))
  const overview = blockOverview(scan, blockPx, light.transmittance)
  const pitch = { across: pitchPx.across / blockPx, along: pitchPx.along / blockPx }
  const width = Math.round(WINDOW * pitch.across)
  const height = Math.round(WINDOW * pitch.along)
  const wavesAcross = waves(width, height, pitch, 0)
  const wavesAlong = waves(width, height, pitch, 90)
  // A fine grid fills the page: no need to look everywhere.
  const hop = Math.max(HOP, Math.sqrt((overview.columns * overview.rows) / (MOST_WINDOWS * pitch.across * pitch.along)))
  const tries: { readonly score: number; readonly map: PlaneMap }[] = []
  for (const top of places(overview.rows, height, hop * pitch.along))
    for (const left of places(overview.columns, width, hop * pitch.across)) {
      const window = darkness(overview, left, top, width, height)
      const a = strongest(window, width, height, wavesAcross)
      const b = strongest(window, width, height, wavesAlong)
      const score = Math.min(a.strength, b.strength)
      const determinant = a.kx * b.ky - a.ky * b.kx
      if (!(score > 0 && determinant > 0.5 / (pitch.across * pitch.along))) continue
      // The columns of the inverse of (ka; kb) are the steps of the grid.
      const [xx, xy, yx, yy] = [b.ky, -a.ky, -b.kx, a.kx].map(k => (k * blockPx) / determinant) as [
        number,
        number,
        number,
        number,
      ]
      const x0 = (left + width / 2) * blockPx - 0.5 + xx * a.phase + xy * b.phase
      const y0 = (top + height / 2) * blockPx - 0.5 + yx * a.phase + yy * b.phase
      tries.push({ score, map: { x0, y0, xx, xy, yx, yy } })
    }
  tries.sort((one, other) => other.score - one.score)
  return tries.slice(0, MOST_TRIES).map(one => one.map)
}

function places(length: number, window: number, hop: number): number[] {
  if (length < window) return []
  const count = Math.floor((length - window) / hop) + 1
  return Array.from({ length: count }, (_, i) => Math.round(((length - window) * (i + 0.5)) / count))
}

/** Darkness of a window less its mean, tapered to its rim (Hann), of unit square sum; all 0 for an even window. */
function darkness(
  overview: { readonly light: Float32Array; readonly columns: number },
  left: number,
  top: number,
  width: number,
  height: number,
): Float64Array {
  const out = new Float64Array(width * height)
  let sum = 0
  let weights = 0
  const hann = (i: number, n: number) => Math.sin((Math.PI * (i + 0.5)) / n) ** 2
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const w = hann(r, height) * hann(c, width)
      const dark = 1 - overview.light[(top + r) * overview.columns + left + c]!
      out[r * width + c] = dark
      sum += w * dark
      weights += w
    }
  let square = 0
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const at = r * width + c
      out[at] = hann(r, height) * hann(c, width) * (out[at]! - sum / weights)
      square += out[at]! ** 2
    }
  // Below this the window is even but for noise.
  const norm = square > 1e-6 * width * height ? Math.sqrt(square * width * height) : Infinity
  for (let at = 0; at < out.length; at++) out[at]! /= norm
  return out
}

/** A wave of one period a pitch at one turn, as tables over the columns and rows of a window. */
interface Wave {
  readonly kx: number
  readonly ky: number
  readonly cosX: Float64Array
  readonly sinX: Float64Array
  readonly cosY: Float64Array
  readonly sinY: Float64Array
}

function waves(
  width: number,
  height: number,
  pitch: { readonly across: number; readonly along: number },
  axis: 0 | 90,
): Wave[] {
  return Array.from({ length: 2 * MOST_TURN + 1 }, (_, n) => {
    const angle = ((axis + n - MOST_TURN) * Math.PI) / 180
    const kx = Math.cos(angle) / pitch.across
    const ky = Math.sin(angle) / pitch.along
    const table = (length: number, k: number, of: (phase: number) => number) =>
      Float64Array.from({ length }, (_, i) => of(2 * Math.PI * k * (i + 0.5 - length / 2)))
    return {
      kx,
      ky,
      cosX: table(width, kx, Math.cos),
      sinX: table(width, kx, Math.sin),
      cosY: table(height, ky, Math.cos),
      sinY: table(height, ky, Math.sin),
    }
  })
}

/** The wave that is strongest in the window: its vector in blocks, its phase in periods from the window's middle. */
function strongest(
  window: Float64Array,
  width: number,
  height: number,
  all: readonly Wave[],
): { readonly strength: number; readonly kx: number; readonly ky: number; readonly phase: number } {
  let best = { strength: 0, kx: 0, ky: 0, phase: 0 }
  for (const { kx, ky, cosX, sinX, cosY, sinY } of all) {
    let real = 0
    let imaginary = 0
    for (let r = 0; r < height; r++) {
      let a = 0
      let b = 0
      for (let c = 0; c < width; c++) {
        const value = window[r * width + c]!
        a += value * cosX[c]!
        b += value * sinX[c]!
      }
      real += a * cosY[r]! - b * sinY[r]!
      imaginary += a * sinY[r]! + b * cosY[r]!
    }
    const strength = Math.hypot(real, imaginary)
    if (strength > best.strength) best = { strength, kx, ky, phase: Math.atan2(imaginary, real) / (2 * Math.PI) }
  }
  return best
}
