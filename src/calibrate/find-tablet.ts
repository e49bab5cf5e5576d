import { labelComponents } from '../imaging/label-components.js'
import { median, quantile } from '../imaging/robust.js'
import type { PixelPoint } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { Certificate } from './certificate.js'
import { matchSteps, type StepMatch } from './match-steps.js'
import type { PageSurvey } from './page-survey.js'
import { stepLattices } from './step-lattice.js'

/** Where the tablet lies on the scan. */
export interface FoundTablet {
  /** Centre of each step, step 1 first, px. */
  readonly centres: readonly PixelPoint[]
  /** Unit vector from step 1 towards the last step. */
  readonly axis: PixelPoint
  /** Direction in which densities rise on the scan, to the nearest quarter turn. */
  readonly rises: 'right' | 'down' | 'left' | 'up'
  /** Turn against that direction, degrees, -45..45. */
  readonly tilt: number
  /** Length of a step along the tablet and width of the tablet, px. */
  readonly pitchPx: number
  readonly widthPx: number
  /** Rough code of open light over the whole page and of the darkest place: seeds, never readings. */
  readonly openCode: number
  readonly darkCode: number
  readonly match: StepMatch
}

/** Blocks this much below open light are taken for film: clear film passes about 90 % of the light. */
const FILM_BELOW_OPEN = 0.975
/** Open light is sought within this of every place (lamps fall off towards the sides of the bed), mm; it never counts as less than this share of the page's. */
const OPEN_NEAR_MM = 20
const LEAST_OPEN = 0.9
/** Share of open light's span above the darkest place where mid-tones begin. */
const MIDTONE_FROM = 0.0005
/** Smallest thing looked at as a tablet, and the gap between steps that is bridged, mm. */
const LEAST_AREA_MM2 = 20
const BRIDGED_MM = 0.8
/** Spread of tone across the tablet counted at most, decades: a label or a hair must not outvote the steps. */
const MOST_SPREAD = 0.1
/** Turn that may be left after evenness across was sought, and how often what is left is taken off. */
const MOST_SHEAR_DEGREES = 4
const SHEAR_ROUNDS = 2
/** Whatever is this much longer than wide lies along its long axis; a squarer thing is tried along both sides of the box about it. */
const STRIP_ELONGATION = 1.8
/** Box about a squarish thing: turns tried, degrees, and cells looked at. */
const BOX_STEP_DEGREES = 1
const BOX_CELLS = 1500
/** Candidates tried, largest first. */
const MOST_CANDIDATES = 6
/** Worst mean match accepted (rms about 0.07 D): scanners bend the scale, but a wrong step is 0.10 D and more. */
const WORST_SCORE = 6
/** What a step off the page counts: half a tablet fits another contrast as well as a whole one fits its own, and whole ones are far likelier. */
const OFF_PAGE_SCORE = 4
/** Open light may read this far from D 0 by the fitted curve before the steps must be off by one. */
const OPEN_WITHIN = 0.08
/**
 * No scanner falls faster with a tablet's density than this exponent: linear ones see a scattering silver tablet up to 1.35 times as dense
 * (checks of published scanner data: 0.74). Below it the file has more contrast than the tablet.
 */
const LEAST_GAMMA = 0.65
/** Steps differ by this share of their signal at least (0.01 D at gamma 2); so many pairs must, and so few may be the same. */
const LEAST_FALL = 0.01
const TOLD_ABOVE = 20
const LEAST_FALLING = 0.6
const MOST_EVEN = 0.25
/** Cells this uneven inside, decades, and so many times as uneven as those of another row of steps on the same strip, lie across two steps each. */
const UNEVEN_WITHIN = 0.004
const UNEVEN_TIMES = 6
/** Steps in a row that read this much too dense have something on them, D, when at least this share of all fit within the other figure. */
const COVERED_OFF = 0.25
const FITTING_OFF = 0.1
const LEAST_FITTING = 0.6
const FEWEST_FITTING = 5
/** A tablet of which fewer steps than this are told apart is not taken for one. */
const FEWEST_SEEN = 4

/**
 * Finds the step tablet on a page by itself: the strip-shaped thing with steps of equal length along it, at any
 * of four orientations and tilts up to about ten degrees; the offset and direction of the certificate
 * on those steps is the one that fits best with open light as T 1 when open light is in view.
 * @param survey block means, blocks of about 0.25 mm
 * @param umPerPixel pitch of the scan
 * @throws ProblemError TABLET_NOT_FOUND, TABLET_STEP_COUNT, TABLET_STEP_DIRTY, TABLET_TWICE
 */
export function findTablet(survey: PageSurvey, certificate: Certificate, umPerPixel: number): FoundTablet {
  const blockMm = (survey.blockPx * umPerPixel) / 1000
  const levels = pageLevels(survey)
  const marks = midtones(survey, levels, blockMm)
  const groups = candidateGroups(survey, marks, blockMm)
  if (groups.length === 0)
    throw new ProblemError('TABLET_NOT_FOUND', 'nothing of a strip shape with mid-tones lies on the glass')
  let best: { found: Placed; strip: Strip; flat: boolean } | null = null
  const whole: Whole[] = []
  let mostSteps = 0
  for (const cells of groups.slice(0, MOST_CANDIDATES)) {
    for (const turn of turnsOf(cells, survey.columns)) {
      const strip = straighten(survey, cells, levels, turn)
      if (strip === null) continue
      const lattices = stepLattices(strip.tone, strip.from, strip.to)
      const flattest = Math.min(...lattices.map(lattice => lattice.within))
      for (const lattice of lattices) {
        const placed = placeSteps(strip, lattice, certificate, levels)
        mostSteps = Math.max(mostSteps, placed.seen)
        whole.push(...placed.whole)
        if (placed.match !== null && (best === null || placed.match.score < best.found.match!.score))
          best = { found: placed, strip, flat: lattice.within <= Math.max(UNEVEN_WITHIN, UNEVEN_TIMES * flattest) }
      }
    }
  }
  const count = certificate.steps.length
  const refused =
    best === null || !best.flat
      ? `${count} in the file, about ${mostSteps} to be seen on the scan`
      : refusalOf(best.found, count)
  if (refused !== null) refuseCovered(whole, certificate)
  if (best === null) {
    if (mostSteps >= FEWEST_SEEN)
      throw new ProblemError('TABLET_STEP_COUNT', `${count} in the file, about ${mostSteps} to be seen on the scan`)
    throw new ProblemError('TABLET_NOT_FOUND', 'no strip with equal steps along it')
  }
  if (refused !== null) throw new ProblemError('TABLET_STEP_COUNT', refused)
  refuseSecond(
    best.found,
    best.strip,
    whole.filter(w => w.off.length === 0),
    count,
  )
  return toFound(best.found, best.strip, survey, certificate, levels)
}

/** A placement of the whole certificate on steps that are all in view. */
interface Whole {
  /** Middle of the first and the last step, blocks. */
  readonly from: PixelPoint
  readonly to: PixelPoint
  /** Indices of steps that do not fit; none where all fit well enough to be taken for the tablet. */
  readonly off: readonly number[]
  readonly score: number
}

/**
 * Most steps are where the file says and some are not: something lies on them, and that is to be said, not that steps are missing.
 * @throws ProblemError TABLET_STEP_DIRTY
 */
function refuseCovered(whole: readonly Whole[], { steps }: Certificate): void {
  const covered = whole.filter(w => w.off.length > 0).sort((a, b) => a.score - b.score)[0]
  if (covered === undefined) return
  const names = covered.off.map(i => steps[i]!.step).join(', ')
  throw new ProblemError(
    'TABLET_STEP_DIRTY',
    `step${covered.off.length === 1 ? '' : 's'} ${names} of ${steps.length} far from the density in the file`,
  )
}

/**
 * Two tablets that both fit the file: which of them it belongs to nobody can tell.
 * @throws ProblemError TABLET_TWICE
 */
function refuseSecond(found: Placed, strip: Strip, fitting: readonly Whole[], count: number): void {
  const { cell, direction, pitch } = found
  const own = ends(strip, found, cell, direction, count)
  const middle = (w: Pick<Whole, 'from' | 'to'>) => ({
    column: (w.from.column + w.to.column) / 2,
    row: (w.from.row + w.to.row) / 2,
  })
  const here = middle(own)
  for (const other of fitting) {
    const there = middle(other)
    const [dc, dr] = [there.column - here.column, there.row - here.row]
    const along = Math.abs(dc * Math.cos(strip.angle) + dr * Math.sin(strip.angle))
    const across = Math.abs(dr * Math.cos(strip.angle) - dc * Math.sin(strip.angle))
    if (along > (count * pitch) / 2 || across > strip.width)
      throw new ProblemError('TABLET_TWICE', `the ${count} steps of the file fit at two places`)
  }
}

/** Middles of the first and the last step of a placement, blocks. */
function ends(
  strip: Strip,
  { start, pitch }: { readonly start: number; readonly pitch: number },
  cell: number,
  direction: 1 | -1,
  count: number,
): Pick<Whole, 'from' | 'to'> {
  const at = (i: number): PixelPoint => {
    const u = strip.u0 + start + (cell + direction * i + 0.5) * pitch
    return {
      column: strip.column + u * Math.cos(strip.angle) - strip.v * Math.sin(strip.angle),
      row: strip.row + u * Math.sin(strip.angle) + strip.v * Math.cos(strip.angle),
    }
  }
  return { from: at(0), to: at(count - 1) }
}

interface Levels {
  readonly open: number
  readonly dark: number
  /** Standard error of a block mean. */
  readonly noise: number
}

function pageLevels(survey: PageSurvey): Levels {
  const { means, columns } = survey
  const bright = quantile(means, 0.995)
  const dark = quantile(means, 0.002)
  const plateau: number[] = []
  for (let i = 0; i < means.length; i++) if (means[i]! >= 0.97 * bright) plateau.push(means[i]!)
  const steps: number[] = []
  const stride = Math.max(1, Math.floor(means.length / 50_000))
  for (let i = 0; i + 1 < means.length; i += stride)
    if ((i + 1) % columns !== 0) steps.push(Math.abs(means[i + 1]! - means[i]!))
  // Median of |difference of two| is 0.954 of the standard deviation of one.
  return { open: median(plateau), dark, noise: Math.max(0.05, median(steps) / 0.954) }
}

/** Blocks between open light and the darkest place, thin outlines (the penumbra of opaque things) removed. */
function midtones(survey: PageSurvey, levels: Levels, blockMm: number): Uint8Array {
  const { columns, rows, means } = survey
  const open = brightestNear(means, columns, rows, Math.round(OPEN_NEAR_MM / blockMm), levels.noise)
  const low = levels.dark + Math.max(6 * levels.noise, MIDTONE_FROM * (levels.open - levels.dark))
  const raw = new Uint8Array(means.length)
  for (let i = 0; i < means.length; i++) {
    const high = Math.max(open[i]!, LEAST_OPEN * levels.open) * FILM_BELOW_OPEN
    raw[i] = means[i]! < high && means[i]! > low ? 1 : 0
  }
  const inner = new Uint8Array(means.length)
  for (let r = 1; r + 1 < rows; r++)
    for (let c = 1; c + 1 < columns; c++) {
      const at = r * columns + c
      let all = 1
      for (let dr = -columns; dr <= columns && all === 1; dr += columns)
        for (let dc = -1; dc <= 1; dc++) if (raw[at + dr + dc] === 0) all = 0
      inner[at] = all
    }
  return spread(inner, columns, rows, 1)
}

/** Greatest block mean within `reach` blocks (square) of each, less what noise lifts the greatest of many by. */
function brightestNear(means: Float32Array, columns: number, rows: number, reach: number, noise: number): Float32Array {
  const along = new Float32Array(means.length)
  for (let r = 0; r < rows; r++) runningMost(means, along, r * columns, 1, columns, reach)
  const both = new Float32Array(means.length)
  for (let c = 0; c < columns; c++) runningMost(along, both, c, columns, rows, reach)
  return both.map(value => value - 4 * noise)
}

/** Running maximum over +/- reach by a queue of falling values (each enters and leaves once). */
function runningMost(
  from: Float32Array,
  to: Float32Array,
  start: number,
  stride: number,
  length: number,
  reach: number,
): void {
  const queue = new Int32Array(length)
  let head = 0
  let tail = 0
  for (let i = 0; i < length + reach; i++) {
    if (i < length) {
      const value = from[start + i * stride]!
      while (tail > head && from[start + queue[tail - 1]! * stride]! <= value) tail--
      queue[tail++] = i
    }
    const at = i - reach
    if (at < 0 || at >= length) continue
    while (queue[head]! < at - reach) head++
    to[start + at * stride] = from[start + queue[head]! * stride]!
  }
}

/** Every cell within `reach` cells (square) of a marked one. */
function spread(marks: Uint8Array, columns: number, rows: number, reach: number): Uint8Array {
  const along = new Uint8Array(marks.length)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      if (marks[r * columns + c] !== 0)
        along.fill(1, r * columns + Math.max(0, c - reach), r * columns + Math.min(columns, c + reach + 1))
  const out = new Uint8Array(marks.length)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      if (along[r * columns + c] !== 0)
        for (let k = Math.max(0, r - reach); k <= Math.min(rows - 1, r + reach); k++) out[k * columns + c] = 1
  return out
}

/** Cells of each strip-shaped group of mid-tones, largest first; neighbours across gaps between steps are joined. */
function candidateGroups(survey: PageSurvey, marks: Uint8Array, blockMm: number): number[][] {
  const { columns, rows, means } = survey
  const reach = Math.max(1, Math.round(BRIDGED_MM / blockMm / 2))
  const { labels, groups } = labelComponents(spread(marks, columns, rows, reach), columns, rows)
  const cells: number[][] = groups.map(() => [])
  for (let i = 0; i < marks.length; i++) if (marks[i] !== 0) cells[labels[i]! - 1]!.push(i)
  const least = Math.max(60, LEAST_AREA_MM2 / blockMm ** 2)
  return cells
    .filter(group => {
      if (group.length < least) return false
      const tones = group.map(i => means[i]!)
      return quantile(tones, 0.95) > 1.3 * quantile(tones, 0.05)
    })
    .sort((a, b) => b.length - a.length)
}

function mainAxis(cells: readonly number[], columns: number) {
  let sc = 0
  let sr = 0
  for (const i of cells) {
    sc += i % columns
    sr += Math.floor(i / columns)
  }
  const column = sc / cells.length
  const row = sr / cells.length
  let cc = 0
  let cr = 0
  let rr = 0
  for (const i of cells) {
    const dc = (i % columns) - column
    const dr = Math.floor(i / columns) - row
    cc += dc * dc
    cr += dc * dr
    rr += dr * dr
  }
  const middle = (cc + rr) / 2
  const radius = Math.hypot((cc - rr) / 2, cr)
  return {
    column,
    row,
    angle: 0.5 * Math.atan2(2 * cr, cc - rr),
    elongation: Math.sqrt((middle + radius) / Math.max(middle - radius, 1e-9)),
  }
}

/** Turns along which the steps of a group may run, radians. */
function turnsOf(cells: readonly number[], columns: number): readonly number[] {
  const { angle, elongation } = mainAxis(cells, columns)
  if (elongation >= STRIP_ELONGATION) return [angle]
  const stride = Math.max(1, Math.floor(cells.length / BOX_CELLS))
  let best = { turn: 0, area: Number.POSITIVE_INFINITY }
  for (let degrees = 0; degrees < 90; degrees += BOX_STEP_DEGREES) {
    const turn = (degrees * Math.PI) / 180
    const u: number[] = []
    const v: number[] = []
    for (let i = 0; i < cells.length; i += stride) {
      const c = cells[i]! % columns
      const r = Math.floor(cells[i]! / columns)
      u.push(c * Math.cos(turn) + r * Math.sin(turn))
      v.push(-c * Math.sin(turn) + r * Math.cos(turn))
    }
    const area = (quantile(u, 0.995) - quantile(u, 0.005)) * (quantile(v, 0.995) - quantile(v, 0.005))
    if (area < best.area) best = { turn, area }
  }
  return [best.turn, best.turn + Math.PI / 2]
}

/** A candidate turned straight: tone and code along it, one sample a block. */
interface Strip {
  readonly column: number
  readonly row: number
  readonly angle: number
  /** Place of sample 0 and middle line and width across, blocks from (column, row). */
  readonly u0: number
  readonly v: number
  readonly width: number
  /** Median code over the inner width; NaN marks samples off the page and never leaves this file. */
  readonly code: Float64Array
  /** Logarithm of light above the darkest place, softened at the noise. */
  readonly tone: Float64Array
  /** Samples that surely belong to the tablet. */
  readonly from: number
  readonly to: number
}

function straighten(survey: PageSurvey, cells: readonly number[], levels: Levels, about: number): Strip | null {
  const { columns, rows, means } = survey
  const axis = { ...mainAxis(cells, columns), angle: about }
  const softening = 20 * levels.noise + 1e-4 * (levels.open - levels.dark)
  const toneOf = (code: number) => Math.log10(Math.max(code - levels.dark, 0) + softening)
  const at = (u: number, v: number, angle: number): number | null => {
    const c = Math.round(axis.column + u * Math.cos(angle) - v * Math.sin(angle))
    const r = Math.round(axis.row + u * Math.sin(angle) + v * Math.cos(angle))
    return c >= 0 && c < columns && r >= 0 && r < rows ? means[r * columns + c]! : null
  }
  /** The same between blocks (bilinear): whole blocks would pull a turn towards those that fall on them. */
  const between = (u: number, v: number, angle: number): number | null => {
    const c = axis.column + u * Math.cos(angle) - v * Math.sin(angle)
    const r = axis.row + u * Math.sin(angle) + v * Math.cos(angle)
    const [c0, r0] = [Math.floor(c), Math.floor(r)]
    if (c0 < 0 || r0 < 0 || c0 + 1 >= columns || r0 + 1 >= rows) return null
    const [x, y] = [c - c0, r - r0]
    const i = r0 * columns + c0
    const upper = means[i]! * (1 - x) + means[i + 1]! * x
    const lower = means[i + columns]! * (1 - x) + means[i + columns + 1]! * x
    return upper * (1 - y) + lower * y
  }
  const extent = (angle: number) => {
    const u: number[] = []
    const v: number[] = []
    for (const i of cells) {
      const dc = (i % columns) - axis.column
      const dr = Math.floor(i / columns) - axis.row
      u.push(dc * Math.cos(angle) + dr * Math.sin(angle))
      v.push(-dc * Math.sin(angle) + dr * Math.cos(angle))
    }
    return { u0: quantile(u, 0.002), u1: quantile(u, 0.998), v0: quantile(v, 0.002), v1: quantile(v, 0.998) }
  }

  let angle = axis.angle
  let across = lateral(angle)
  if (across === null) return null
  for (const [span, step] of [
    [4, 0.5],
    [0.6, 0.1],
  ] as const)
    turnTo(squareUp(angle, across, span, step))
  for (let round = 0; round < SHEAR_ROUNDS; round++) turnTo(angle + shear(angle, across))
  const box = extent(angle)
  const length = box.u1 - box.u0
  const u0 = Math.floor(box.u0 - length)
  const u1 = Math.ceil(box.u1 + length)
  const code = new Float64Array(u1 - u0 + 1).fill(Number.NaN)
  for (let u = u0; u <= u1; u++) {
    const values: number[] = []
    const half = 0.3 * across.width
    for (let v = across.v - half; v <= across.v + half; v += 1) {
      const value = at(u, v, angle)
      if (value !== null) values.push(value)
    }
    if (values.length > 0 && values.length >= half) code[u - u0] = median(values)
  }
  const first = code.findIndex(value => !Number.isNaN(value))
  const last = code.findLastIndex(value => !Number.isNaN(value))
  if (first < 0) return null
  const inside = code.slice(first, last + 1)
  return {
    column: axis.column,
    row: axis.row,
    angle,
    u0: u0 + first,
    v: across.v,
    width: across.width,
    code: inside,
    tone: inside.map(toneOf),
    from: Math.max(0, Math.floor(box.u0) - u0 - first),
    to: Math.min(inside.length, Math.ceil(box.u1) + 1 - u0 - first),
  }

  /** A turn across which fewer lines run through the steps is a wrong one, however even they are: that one is widest which lies right. */
  function turnTo(turn: number): void {
    const line = lateral(turn)
    if (line === null || line.width < across!.width - 1) return
    angle = turn
    across = line
  }

  /** Middle line and width of the part across which the tone runs through the steps: margins and labels fall away. */
  function lateral(turn: number): { v: number; width: number } | null {
    const box = extent(turn)
    const v0 = Math.floor(box.v0)
    const v1 = Math.ceil(box.v1)
    const ranges: number[] = []
    for (let v = v0; v <= v1; v++) {
      const tones: number[] = []
      for (let u = box.u0; u <= box.u1; u++) {
        const value = at(u, v, turn)
        if (value !== null) tones.push(toneOf(value))
      }
      ranges.push(tones.length < 12 ? 0 : quantile(tones, 0.8) - quantile(tones, 0.2))
    }
    const wanted = 0.75 * quantile(ranges, 0.8)
    let best = { start: 0, length: 0 }
    let start = 0
    for (let i = 0; i <= ranges.length; i++) {
      if (i < ranges.length && ranges[i]! >= wanted) continue
      if (i - start > best.length) best = { start, length: i - start }
      start = i + 1
    }
    if (best.length < 3) return null
    // Keep the lines whose tones follow the middle line's: a line that cuts margin or holder does not.
    const middle = v0 + best.start + (best.length - 1) / 2
    const reference: (number | null)[] = []
    for (let u = box.u0; u <= box.u1; u++) {
      const values: number[] = []
      for (let v = middle - best.length / 8; v <= middle + best.length / 8; v++) {
        const value = at(u, v, turn)
        if (value !== null) values.push(toneOf(value))
      }
      reference.push(values.length === 0 ? null : median(values))
    }
    const follows = (v: number): boolean => {
      const offs: number[] = []
      for (let k = 0; k < reference.length; k++) {
        const value = at(box.u0 + k, v, turn)
        const wantedTone = reference[k]
        if (value !== null && wantedTone !== null && wantedTone !== undefined)
          offs.push(Math.abs(toneOf(value) - wantedTone))
      }
      return offs.length >= Math.max(12, 0.8 * reference.length) && quantile(offs, 0.75) < 0.06
    }
    let low = Math.round(middle)
    let high = low
    while (low - 1 >= v0 - 2 && follows(low - 1)) low--
    while (high + 1 <= v1 + 2 && follows(high + 1)) high++
    return high - low < 2 ? null : { v: (low + high) / 2, width: high - low + 1 }
  }

  /**
   * Turn still left, radians: how far the steps on one half of the tablet lie along it from those on the other. Evenness across hardly
   * feels a degree on a narrow tablet; a degree over its length is a whole width.
   */
  function shear(turn: number, line: { v: number; width: number }): number {
    const box = extent(turn)
    const apart = 0.5 * line.width
    const reach = Math.ceil(apart * Math.tan((MOST_SHEAR_DEGREES * Math.PI) / 180)) + 1
    const profile = (v: number): Float64Array => {
      const half = 0.17 * line.width
      const tones: number[] = []
      for (let u = box.u0 - reach; u <= box.u1 + reach; u++) {
        const values: number[] = []
        for (let k = v - half; k <= v + half; k++) {
          const value = between(u, k, turn)
          if (value !== null) values.push(toneOf(value))
        }
        tones.push(values.length === 0 ? Number.NaN : median(values))
      }
      return Float64Array.from(tones)
    }
    const [above, below] = [profile(line.v - apart / 2), profile(line.v + apart / 2)]
    const misfit = (shift: number): number => {
      let total = 0
      let count = 0
      for (let i = reach; i < above.length - reach; i++) {
        const k = Math.floor(i + shift)
        const part = i + shift - k
        const off = below[k]! * (1 - part) + below[Math.min(k + 1, below.length - 1)]! * part - above[i]!
        if (Number.isNaN(off)) continue
        total += Math.min(Math.abs(off), MOST_SPREAD)
        count++
      }
      return count < 12 ? Number.POSITIVE_INFINITY : total / count
    }
    const tried: { shift: number; value: number }[] = []
    for (let shift = -reach + 1; shift <= reach - 1; shift += 0.1) tried.push({ shift, value: misfit(shift) })
    const least = Math.min(...tried.map(t => t.value))
    // The middle of the valley: between two samples its floor is flat.
    const valley = tried.filter(t => t.value <= 1.1 * least)
    const shift = valley.reduce((sum, t) => sum + t.shift, 0) / Math.max(1, valley.length)
    return Number.isFinite(least) ? -Math.atan(shift / apart) : 0
  }

  /** Turns the axis until each sample across the tablet is most even. */
  function squareUp(
    about: number,
    line: { v: number; width: number },
    spanDegrees: number,
    stepDegrees: number,
  ): number {
    // The extent hardly changes with a few degrees, and ranking thousands of cells anew for each turn is slow.
    const box = extent(about)
    let best = { turn: about, spread: Number.POSITIVE_INFINITY }
    for (let k = -Math.round(spanDegrees / stepDegrees); k <= Math.round(spanDegrees / stepDegrees); k++) {
      const turn = about + (k * stepDegrees * Math.PI) / 180
      let total = 0
      let count = 0
      const half = 0.35 * line.width
      for (let u = box.u0; u <= box.u1; u++) {
        let wanted = 0
        let n = 0
        let sum = 0
        let square = 0
        for (let v = line.v - half; v <= line.v + half; v++) {
          const value = between(u, v, turn)
          wanted++
          if (value === null) continue
          const tone = toneOf(value)
          n++
          sum += tone
          square += tone * tone
        }
        // A sample that runs off the page would be evener for being shorter, and leaving it out would favour the even end.
        if (n < wanted) {
          total += MOST_SPREAD
          count++
          continue
        }
        total += Math.min(Math.sqrt(Math.max(0, square / n - (sum / n) ** 2)), MOST_SPREAD)
        count++
      }
      if (count > 0 && total / count < best.spread) best = { turn, spread: total / count }
    }
    return best.turn
  }
}

/** The certificate laid on the lattice. */
interface Placed {
  readonly match: StepMatch | null
  /** Lattice cell of step 1 and direction along the strip. */
  readonly cell: number
  readonly direction: 1 | -1
  readonly start: number
  readonly pitch: number
  readonly codes: readonly (number | null)[]
  /** Steps told apart from their neighbours along the strip. */
  readonly seen: number
  /** Further steps that go on beyond the first and the last one. */
  readonly beyond: { readonly clear: number; readonly deep: number }
  /** Placements of all steps that fit, or would but for some of them. */
  readonly whole: readonly Whole[]
}

function placeSteps(
  strip: Strip,
  lattice: { start: number; pitch: number },
  certificate: Certificate,
  levels: Levels,
): Placed {
  const { start, pitch } = lattice
  const count = certificate.steps.length
  const first = Math.floor((0 - start) / pitch) - count
  const last = Math.ceil((strip.code.length - start) / pitch) + count
  const cellCode = (k: number): number | null => {
    const a = Math.ceil(start + (k + 0.2) * pitch)
    const b = Math.floor(start + (k + 0.8) * pitch)
    if (a < 0 || b >= strip.code.length) return null
    const values: number[] = []
    for (let i = a; i <= b; i++) if (!Number.isNaN(strip.code[i]!)) values.push(strip.code[i]!)
    return values.length === 0 ? null : median(values)
  }
  const cells = new Map<number, number | null>()
  for (let k = first; k <= last; k++) cells.set(k, cellCode(k))
  const noise = 3 * levels.noise
  const open = levels.open
  let best: Placed | null = null
  let bestScore = Number.POSITIVE_INFINITY
  const whole: Whole[] = []
  for (const direction of [1, -1] as const)
    for (let cell = first; cell <= last; cell++) {
      const codes = certificate.steps.map((_, i) => cells.get(cell + direction * i) ?? null)
      const missing = codes.filter(code => code === null).length
      if (missing > count / 2) continue
      if (!fallsWithDensity(codes, levels.dark, noise)) continue
      const match = matchSteps(certificate.steps, codes, noise, open)
      if (match === null) continue
      const score = (match.score * (count - missing) + OFF_PAGE_SCORE * missing) / count
      const off = missing > 0 ? null : offSteps(match)
      if (off !== null) whole.push({ ...ends(strip, lattice, cell, direction, count), off, score: match.score })
      if (score < bestScore) {
        bestScore = score
        best = {
          match: { ...match, score },
          cell,
          direction,
          start,
          pitch,
          codes,
          seen: 0,
          beyond: { clear: 0, deep: 0 },
          whole,
        }
      }
    }
  const inside: number[] = []
  for (let k = first; k <= last; k++) {
    const middle = start + (k + 0.5) * pitch
    const code = cells.get(k)
    if (middle >= strip.from && middle < strip.to && code !== null && code !== undefined) inside.push(code)
  }
  let seen = inside.length === 0 ? 0 : 1
  for (let i = 1; i < inside.length; i++) if (Math.abs(inside[i]! - inside[i - 1]!) > 6 * levels.noise) seen++
  if (best === null)
    return { match: null, cell: 0, direction: 1, start, pitch, codes: [], seen, beyond: { clear: 0, deep: 0 }, whole }
  const { cell, direction, match } = best
  const jump = (from: number, to: number): number | null => {
    const a = cells.get(from)
    const b = cells.get(to)
    if (a === null || a === undefined || b === null || b === undefined) return null
    if (!(a - b > 6 * levels.noise)) return null
    const above = Math.max(b - match!.black, 6 * levels.noise)
    return match!.gamma * Math.log10(Math.max(a - match!.black, above) / above)
  }
  const typical = (certificate.steps.at(-1)!.density - certificate.steps[0]!.density) / (count - 1)
  const isStep = (size: number | null) => size !== null && size > 0.5 * typical && size < 2 * typical
  let deep = 0
  for (let k = cell + direction * (count - 1); isStep(jump(k, k + direction)); k += direction) deep++
  let clear = 0
  for (let k = cell; isStep(jump(k - direction, k)); k -= direction) clear++
  return { ...best, seen, beyond: { clear, deep } }
}

/**
 * Codes of a denser step are lower; dirt turns a few the other way, and many alike are two cells on one step, or bare glass.
 * @param noise standard error of a code; a pair is told apart only well above it
 */
function fallsWithDensity(codes: readonly (number | null)[], dark: number, noise: number): boolean {
  let told = 0
  let falls = 0
  let even = 0
  for (let i = 1; i < codes.length; i++) {
    const [a, b] = [codes[i - 1], codes[i]]
    if (a === null || a === undefined || b === null || b === undefined) continue
    const above = Math.max(a, b) - dark
    if (!(above > TOLD_ABOVE * noise)) continue
    const least = Math.max(LEAST_FALL * above, noise)
    told++
    if (a - b > least) falls++
    else if (a - b >= -least) even++
  }
  return told >= FEWEST_SEEN - 1 && falls >= LEAST_FALLING * told && even <= MOST_EVEN * told
}

/** Indices of the steps that do not fit a placement of all of them; null where too many do not, or the scan falls as no scanner does. */
function offSteps(match: StepMatch): number[] | null {
  if (!(match.gamma >= LEAST_GAMMA)) return null
  if (match.openOff !== null && !(Math.abs(match.openOff) <= OPEN_WITHIN)) return null
  const told = match.off.filter(value => value !== null)
  const fit = told.filter(value => Math.abs(value) <= FITTING_OFF).length
  const off = match.off.flatMap((value, i) => (value !== null && value > COVERED_OFF ? [i] : []))
  // What covers a tablet has fitting steps before and behind it; a wrong file departs towards its ends.
  const fits = (i: number) => Math.abs(match.off[i] ?? Number.POSITIVE_INFINITY) <= FITTING_OFF
  const amid = off.every((i, k) => k === 0 || i === off[k - 1]! + 1) && fits(off[0]! - 1) && fits(off.at(-1)! + 1)
  if (off.length > 0) return amid && fit >= Math.max(FEWEST_FITTING, LEAST_FITTING * told.length) ? off : null
  return match.score <= WORST_SCORE ? off : null
}

/** Why the best placement is not the tablet of the file, or null. */
function refusalOf(placed: Placed, count: number): string | null {
  const match = placed.match!
  const missing = placed.codes.filter(code => code === null).length
  if (!(match.score <= WORST_SCORE)) return `${count} in the file, about ${placed.seen} to be seen on the scan`
  if (missing > 0)
    return `${count} in the file, about ${Math.min(placed.seen, count - missing)} to be seen, ${missing} would lie off the scan`
  if (placed.beyond.deep >= 2 || placed.beyond.clear >= 2)
    return `${count} in the file, ${placed.beyond.deep + placed.beyond.clear} more to be seen on the scan`
  if (!(match.gamma >= LEAST_GAMMA))
    return `${count} in the file, about ${placed.seen} to be seen, and the scan falls ${(1 / match.gamma).toFixed(1)} times as fast from step to step as the densities in the file`
  if (match.openOff !== null && !(Math.abs(match.openOff) <= OPEN_WITHIN))
    return `${count} in the file, about ${placed.seen} to be seen, and against step 1 the brightest light reads D ${match.openOff.toFixed(2)} instead of 0`
  return null
}

function toFound(
  placed: Placed,
  strip: Strip,
  survey: PageSurvey,
  certificate: Certificate,
  levels: Levels,
): FoundTablet {
  const match = placed.match!
  const { direction, cell, start, pitch } = placed
  const toPixel = (u: number): PixelPoint => {
    const column = strip.column + u * Math.cos(strip.angle) - strip.v * Math.sin(strip.angle)
    const row = strip.row + u * Math.sin(strip.angle) + strip.v * Math.cos(strip.angle)
    return { column: (column + 0.5) * survey.blockPx - 0.5, row: (row + 0.5) * survey.blockPx - 0.5 }
  }
  const centres = certificate.steps.map((_, i) => toPixel(strip.u0 + start + (cell + direction * i + 0.5) * pitch))
  const axis = { column: direction * Math.cos(strip.angle), row: direction * Math.sin(strip.angle) }
  const quarter = Math.round(Math.atan2(axis.row, axis.column) / (Math.PI / 2))
  const turn = Math.atan2(axis.row, axis.column) - (quarter * Math.PI) / 2
  return {
    centres,
    axis,
    rises: (['right', 'down', 'left', 'up'] as const)[((quarter % 4) + 4) % 4]!,
    tilt: (turn * 180) / Math.PI,
    pitchPx: pitch * survey.blockPx,
    widthPx: strip.width * survey.blockPx,
    openCode: levels.open,
    darkCode: levels.dark,
    match,
  }
}
