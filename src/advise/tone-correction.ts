import { evaluateMonotoneCubic, type MonotoneCubic, monotoneCubic } from '../imaging/monotone-cubic.js'
import { solveLinear } from '../imaging/solve-linear.js'
import type { StripTone } from '../model/strip.js'

/** What a film makes of tints, and what to send so that it makes what is wanted. All in percent of ink. */
export interface ToneCorrection {
  readonly kind: 'made'
  /** What is printed for what is sent. */
  readonly curve: MonotoneCubic
  /** A row a percent, 0 to 100: what is wanted, what to send for it, what the film makes of it uncorrected. */
  readonly table: readonly { readonly wanted: number; readonly send: number; readonly prints: number }[]
  /** Tints that no table can open or bring back: they have filled in, or do not print. */
  readonly beyond: readonly number[]
}

export interface NoToneCorrection {
  readonly kind: 'notMade'
  /** One sentence. */
  readonly because: string
}

/** Fewest tints: with fewer the curve between them is a guess. */
const FEWEST_TONES = 4

/** The curve is made as smooth as leaves it, on average, this share of U from the tints as measured: noise goes, the bend stays. */
const FROM_MEASURED = 0.15

/** Least slope of the curve: where ten percent more ink on the separation print one percent more, the film has filled in, and the table stays sane. */
const LEAST_SLOPE = 0.1

/** Uncertainty given to a tint that states none, percent of area. */
const LEAST_EXPANDED = 0.05

/**
 * The table that would straighten a film's tints: the measured curve, made smooth and strictly rising, read the other way round
 * (monotone cubic through the tints, and 0 and 100 %).
 * It straightens the film only: exposure, stencil and print change tints again.
 * @param dots the tints are rows of equal dots, as the strip's own screen draws them: beyond the outermost tint the curve then goes on as such dots do
 */
export function toneCorrection(
  tones: readonly StripTone[],
  { dots }: { readonly dots: boolean } = { dots: false },
): ToneCorrection | NoToneCorrection {
  const sorted = [...tones].filter(t => t.intended > 0 && t.intended < 100).sort((a, b) => a.intended - b.intended)
  const distinct = sorted.filter((t, i) => i === 0 || t.intended > sorted[i - 1]!.intended)
  if (distinct.length < FEWEST_TONES)
    return {
      kind: 'notMade',
      because: `only ${distinct.length} tints were measured; a correction needs ${FEWEST_TONES} or more`,
    }
  const curved = dots ? withOuterDots(distinct) : distinct
  const sent = [0, ...curved.map(t => t.intended), 100]
  const smooth = [0, ...smoothed(curved), 100]
  const prints = risen(sent, smooth)
  const curve = monotoneCubic(sent, prints)
  const back = monotoneCubic(prints, sent)
  return {
    kind: 'made',
    curve,
    table: Array.from({ length: 101 }, (_, wanted) => ({
      wanted,
      send: within(evaluateMonotoneCubic(back, wanted)),
      prints: within(evaluateMonotoneCubic(curve, wanted)),
    })),
    beyond: curved.flatMap((t, i) => {
      if (!distinct.includes(t)) return []
      const off = Math.abs(prints[i + 1]! - t.measured)
      const flat = (prints[i + 2]! - prints[i + 1]!) / (sent[i + 2]! - sent[i + 1]!) <= LEAST_SLOPE * 1.001
      const flatBefore = (prints[i + 1]! - prints[i]!) / (sent[i + 1]! - sent[i]!) <= LEAST_SLOPE * 1.001
      return flat || flatBefore || off > Math.max(3 * t.expanded, 3) ? [t.intended] : []
    }),
  }
}

/** The table as CSV: `tint,send,prints`, percent with two decimals. */
export function toneTableCsv({ table }: Pick<ToneCorrection, 'table'>): string {
  return `${['tint,send,prints', ...table.map(row => `${row.wanted},${row.send.toFixed(2)},${row.prints.toFixed(2)}`)].join('\n')}\n`
}

/** Tints that are added where none was measured, percent. */
const LIGHT_DOTS = [5, 10] as const
const DARK_DOTS = [90, 95] as const
/** How well the growth of one dot tells that of a smaller one, share of its gain: on make-believe films it falls by 3 to 8 % from 20 to 5 %. */
const GROWTH_LIKE = 0.1

/**
 * Light and dark tints told from the outermost measured ones: a dot grows by the same rim whatever its size, so the root of its area grows by as much
 * (sqrt(a + gain) - sqrt(a) is constant), and so does that of the opening between dots. Geometry of discs; that ink's light edge moves like a rim is
 * an approximation, and GROWTH_LIKE says how good.
 */
function withOuterDots(tones: readonly StripTone[]): readonly StripTone[] {
  const [first, last] = [tones[0]!, tones.at(-1)!]
  const turned = ({ intended, measured, expanded }: StripTone): StripTone => ({
    intended: 100 - intended,
    measured: 100 - measured,
    expanded,
  })
  return [
    ...LIGHT_DOTS.filter(percent => percent < first.intended).map(percent => dotOf(first, percent)),
    ...tones,
    ...DARK_DOTS.filter(percent => percent > last.intended).map(percent => turned(dotOf(turned(last), 100 - percent))),
  ]
}

/** What a dot of another tint becomes whose rim grows as that of a measured one. */
function dotOf({ intended, measured, expanded }: StripTone, percent: number): StripTone {
  const root = (value: number) => Math.sqrt(Math.max(0, value))
  const grown = root(percent) + root(measured) - root(intended)
  const tone = grown > 0 ? grown ** 2 : 0
  return {
    intended: percent,
    measured: tone,
    expanded: Math.hypot((expanded * root(percent)) / root(intended), GROWTH_LIKE * (tone - percent)),
  }
}

function within(percent: number): number {
  return Math.min(100, Math.max(0, percent))
}

/**
 * Measured tints, smoothed: least squares weighted by U against the roughness of the gain (second divided differences, from 0 to
 * 100 %, where there is none), with as much weight on smoothness as FROM_MEASURED allows (Whittaker, 1923; Reinsch, Numer. Math. 10, 177, 1967).
 */
function smoothed(tones: readonly StripTone[]): readonly number[] {
  const n = tones.length
  const x = [0, ...tones.map(t => t.intended), 100]
  const gain = tones.map(t => t.measured - t.intended)
  const weight = tones.map(t => 1 / Math.max(LEAST_EXPANDED, t.expanded) ** 2)
  // Roughness as a square matrix over the tints; both ends have no gain and drop out.
  const rough = new Float64Array(n * n)
  for (let i = 1; i <= n; i++) {
    const before = x[i]! - x[i - 1]!
    const after = x[i + 1]! - x[i]!
    const row = [1 / before, -(1 / before + 1 / after), 1 / after]
    const share = (before + after) / 2
    for (let a = -1; a <= 1; a++)
      for (let b = -1; b <= 1; b++) {
        const [k, l] = [i + a - 1, i + b - 1]
        if (k < 0 || l < 0 || k >= n || l >= n) continue
        rough[k * n + l]! += (row[a + 1]! * row[b + 1]!) / share
      }
  }
  const at = (stiffness: number): readonly number[] => {
    const matrix = Float64Array.from(rough, value => value * stiffness)
    const right = new Float64Array(n)
    for (let i = 0; i < n; i++) {
      matrix[i * n + i]! += weight[i]!
      right[i] = weight[i]! * gain[i]!
    }
    const found = solveLinear(matrix, right, n)
    if (found === null) throw new Error('a positive weight on every tint leaves a solution')
    return Array.from(found)
  }
  const off = (fit: readonly number[]): number =>
    Math.sqrt(fit.reduce((sum, g, i) => sum + weight[i]! * (g - gain[i]!) ** 2, 0) / n)
  // Bisection of the exponent: `off` rises with stiffness.
  let [low, high] = [-6, 12]
  if (off(at(10 ** high)) > FROM_MEASURED)
    for (let step = 0; step < 50; step++) {
      const middle = (low + high) / 2
      if (off(at(10 ** middle)) > FROM_MEASURED) high = middle
      else low = middle
    }
  else low = high
  const fit = at(10 ** low)
  return tones.map((t, i) => t.intended + fit[i]!)
}

/** The nearest curve that rises by LEAST_SLOPE everywhere: neighbours that fall are pooled, then flat places lifted. */
function risen(sent: readonly number[], prints: readonly number[]): readonly number[] {
  const pools: { sum: number; count: number }[] = []
  for (const value of prints) {
    pools.push({ sum: value, count: 1 })
    while (pools.length > 1) {
      const [before, last] = [pools.at(-2)!, pools.at(-1)!]
      if (before.sum / before.count <= last.sum / last.count) break
      pools.splice(-2, 2, { sum: before.sum + last.sum, count: before.count + last.count })
    }
  }
  const rising = pools.flatMap(({ sum, count }) => Array<number>(count).fill(sum / count))
  const out: number[] = []
  rising.forEach((value, i) => {
    const least = i === 0 ? 0 : out[i - 1]! + LEAST_SLOPE * (sent[i]! - sent[i - 1]!)
    const most = 100 - LEAST_SLOPE * (100 - sent[i]!)
    out.push(Math.min(most, Math.max(least, value)))
  })
  out[0] = 0
  out[out.length - 1] = 100
  return out
}
