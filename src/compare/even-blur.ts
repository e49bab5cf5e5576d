import type { MeasuredStroke } from '../measure/measure-stroke.js'
import { fitStroke, type LightNodes, seenStroke } from '../measure/stroke-model.js'
import type { PairedStroke, StrokeScan } from './pair-strokes.js'

/** Scanners whose blur differs by less than this, um (one sigma), see alike. */
const ALIKE_UM = 2
/** A Gaussian is cut off here, sigmas, and sampled so finely. */
const REACH_SIGMAS = 3.5
const STEPS_A_SIGMA = 6

/**
 * Both scans of a stroke as the blurrier of the two scanners would have seen them: the sharper profile is blurred by what the other scanner
 * blurs more, and fitted again. What the stroke model does not say of an edge (haze, satellites) then weighs alike on both sides and cancels,
 * and another scanner does not look like growth.
 */
export function evenBlur(pair: PairedStroke, before: StrokeScan, after: StrokeScan): PairedStroke {
  const own = before.nodes(pair.before.nx, pair.before.ny).nodes
  const other = after.nodes(pair.after.nx, pair.after.ny).nodes
  const more = variance(other) - variance(own)
  if (!(Math.abs(more) > ALIKE_UM ** 2)) return pair
  const sigma = Math.sqrt(Math.abs(more))
  const side = more > 0 ? 'before' : 'after'
  const again = blurred(pair[side], more > 0 ? own : other, sigma)
  return again === null ? pair : { ...pair, [side]: again }
}

function blurred(stroke: MeasuredStroke, nodes: LightNodes, sigma: number): MeasuredStroke | null {
  const { kind, net, clear } = stroke.model
  const wide = spread(nodes, sigma)
  // The model is blurred as a curve, and only what it leaves over from bin to bin: bins may lie far apart.
  const left = smoothed(
    stroke.profile.distance,
    stroke.profile.light.map((light, i) => light - stroke.seen[i]!),
    sigma,
  )
  const model = seenStroke(stroke.model, wide, stroke.profile.distance, stroke.centre)
  const profile = { ...stroke.profile, light: model.map((light, i) => light + left[i]!) }
  const fit = fitStroke(kind, profile, wide, net, clear, stroke.model.sigma)
  return fit === null ? null : { ...stroke, ...fit, profile, nodes: wide }
}

function variance({ offsets, weights }: LightNodes): number {
  let sum = 0
  let mean = 0
  let squares = 0
  for (let i = 0; i < offsets.length; i++) {
    sum += weights[i]!
    mean += weights[i]! * offsets[i]!
    squares += weights[i]! * offsets[i]! ** 2
  }
  return squares / sum - (mean / sum) ** 2
}

/** Nodes of a Gaussian. */
function gaussian(sigma: number): LightNodes {
  const half = Math.ceil(REACH_SIGMAS * STEPS_A_SIGMA)
  const offsets = Float64Array.from({ length: 2 * half + 1 }, (_, i) => ((i - half) * sigma) / STEPS_A_SIGMA)
  const raw = offsets.map(x => Math.exp(-((x / sigma) ** 2) / 2))
  const sum = raw.reduce((a, b) => a + b, 0)
  return { offsets, weights: raw.map(w => w / sum) }
}

/** Nodes blurred by a Gaussian, gathered on an even grid. */
function spread(nodes: LightNodes, sigma: number): LightNodes {
  const kernel = gaussian(sigma)
  const step = Math.max(1.5, sigma / STEPS_A_SIGMA)
  const first = nodes.offsets[0]! + kernel.offsets[0]!
  const last = nodes.offsets.at(-1)! + kernel.offsets.at(-1)!
  const size = Math.ceil((last - first) / step) + 2
  const weights = new Float64Array(size)
  for (let i = 0; i < nodes.offsets.length; i++)
    for (let k = 0; k < kernel.offsets.length; k++) {
      const at = (nodes.offsets[i]! + kernel.offsets[k]! - first) / step
      const whole = Math.floor(at)
      const weight = nodes.weights[i]! * kernel.weights[k]!
      // Shared between the two neighbours: sum and centre are kept.
      weights[whole]! += weight * (1 - at + whole)
      weights[whole + 1]! += weight * (at - whole)
    }
  return { offsets: Float64Array.from(weights, (_, i) => first + i * step), weights }
}

/** Values under a Gaussian, by linear steps between the bins; beyond the ends, and over the gap inside a wide stroke, they are even. */
function smoothed(distance: Float64Array, values: Float64Array, sigma: number): Float64Array {
  const kernel = gaussian(sigma)
  const n = distance.length
  const out = new Float64Array(n)
  for (let i = 0; i < n; i++) {
    let sum = 0
    let k = Math.min(i, n - 2)
    for (let j = 0; j < kernel.offsets.length; j++) {
      const at = distance[i]! + kernel.offsets[j]!
      while (k > 0 && distance[k]! > at) k--
      while (k < n - 2 && distance[k + 1]! < at) k++
      const part = Math.min(1, Math.max(0, (at - distance[k]!) / (distance[k + 1]! - distance[k]!)))
      sum += kernel.weights[j]! * (values[k]! + (values[k + 1]! - values[k]!) * part)
    }
    out[i] = sum
  }
  return out
}
