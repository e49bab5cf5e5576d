import { evaluateMonotoneCubic, type MonotoneCubic, monotoneCubic } from '../imaging/monotone-cubic.js'
import type { ScaleStep } from '../model/length-doubts.js'

/** Steps are moved by at most this share of the narrowest gap between them. */
const MOST_OF_GAP = 0.6

/** Steps deeper than this move no 10 % crossing, but through a smoothed scale: light there is a hundredth of the change. */
const DEEPEST_THAT_MATTERS = 2

/** What the light scale would show of a light, were one step's certificate off by one standard uncertainty: light to change of light. */
export type ScaleError = (light: number) => number

/**
 * Errors of the light scale that a tablet's certificate leaves, independent of each other: one for each step, and one common to all. Between steps
 * the scale runs as the calibration's (monotone cubic). Open light is D 0 by definition, so that even the common one bends the scale at its clear end,
 * as far as a smoothed scale lets it.
 */
export function scaleErrors(steps: readonly ScaleStep[]): ScaleError[] {
  const first = steps[0]
  if (first === undefined || steps.length < 3) return []
  const open = first.density > 0
  const knots = open ? [{ density: 0, standard: 0, own: 0 }, ...steps] : steps
  const x = knots.map(knot => knot.density)
  const gap = Math.min(...x.slice(1).map((value, i) => value - x[i]!))
  const errorOf = (standards: readonly number[]): ScaleError | null => {
    const most = Math.max(...standards.map(Math.abs))
    if (!(most > 0)) return null
    // No step may pass its neighbour: a larger error is taken to act in proportion.
    const scale = Math.min(1, (MOST_OF_GAP * gap) / most)
    // Both ways, for the scale between steps does not give way alike.
    const [up, down] = [1, -1].map(sign =>
      monotoneCubic(
        x,
        x.map((value, k) => value + sign * scale * standards[k]!),
      ),
    ) as [MonotoneCubic, MonotoneCubic]
    return light => {
      if (!(light > 0)) return 0
      const density = Math.min(x.at(-1)!, Math.max(x[0]!, -Math.log10(light)))
      const off = (evaluateMonotoneCubic(up, density) - evaluateMonotoneCubic(down, density)) / 2 / scale
      return -Math.LN10 * light * off
    }
  }
  /** What an error of one standard uncertainty of one step does to every knot. */
  const moves = (step: ScaleStep, k: number, standard: number) =>
    knots.map((_, i) => {
      const at = open ? i : i + 1
      return standard * (step.spread === undefined ? Number(at === k + 1) : step.spread[at]!)
    })
  const common = steps.map((step, k) => moves(step, k, Math.sqrt(Math.max(0, step.standard ** 2 - step.own ** 2))))
  return [
    ...steps.map((step, k) =>
      step.density <= DEEPEST_THAT_MATTERS || step.spread !== undefined ? errorOf(moves(step, k, step.own)) : null,
    ),
    errorOf(knots.map((_, i) => common.reduce((sum, moved) => sum + moved[i]!, 0))),
  ].filter(error => error !== null)
}
