import { median, robustDeviation } from '../imaging/robust.js'
import type { LengthDoubts } from '../model/length-doubts.js'
import type { Bound, Component, Part, Reading } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import type { MeasuredEdge } from './measured-edge.js'

/** An error that several edges have in common: what one standard uncertainty of one quantity does to the value of one edge. */
export interface SharedEffect {
  /** Line of the budget it goes into. */
  readonly name: string
  /** The quantity: effects of one source add up, those of different sources add in squares. */
  readonly source: string
  /** Change of the value, um, signed. */
  readonly effect: number
  readonly type: 'A' | 'B'
  readonly input: { readonly standard: number; readonly unit: string }
  readonly degreesOfFreedom: number | null
}

/** One edge's value of a width, um. */
export interface EdgeValue {
  readonly edge: MeasuredEdge
  readonly value: number
  /** What differs from edge to edge. */
  readonly own: readonly Component[]
  readonly shared: readonly SharedEffect[]
  readonly bound: Bound | null
}

/** The median of n normal values is this much less certain than their mean: sqrt(pi / 2). */
const MEDIAN_PENALTY = 1.2533
/** Fewer edges do not tell their own scatter. */
const FEWEST_FOR_SCATTER = 4
/** Values further out than this many robust deviations count as lying there: one odd edge does not speak for all. */
const CLIPPED_AT = 3
export function ownStandard(v: EdgeValue): number {
  return Math.hypot(...v.own.map(c => c.standard))
}

export function edgePart(v: EdgeValue): Part {
  return {
    id: v.edge.id,
    place: {
      column: (v.edge.spread.from.column + v.edge.spread.to.column) / 2,
      row: (v.edge.spread.from.row + v.edge.spread.to.row) / 2,
    },
    value: v.value,
    expanded: expandedUncertainty(edgeBudget(v)).expanded,
    bound: v.bound,
  }
}

/** Budget of one edge alone. */
export function edgeBudget(v: EdgeValue): Component[] {
  return [...v.own, ...sharedComponents([v])]
}

/**
 * The middle one of several edges. An edge known only as "at most" counts with that value: if it lies at or above the middle, the
 * true middle may be lower, and the whole is a bound; if it lies below, its true place does not matter.
 */
export function middleOfEdges(values: readonly EdgeValue[], method: string): Reading {
  const value = median(values.map(v => v.value))
  const bounded = values.filter(v => v.bound !== null)
  const bound = bounded.find(v => v.value >= value)?.bound ?? null
  const used = bound === null ? values.filter(v => v.bound === null) : values
  const budget = [scatterOf(used), ...sharedComponents(used)]
  return {
    value,
    unit: 'um',
    ...expandedUncertainty(budget),
    bound,
    n: values.length,
    parts: values.map(edgePart),
    budget,
    method,
  }
}

/** Edges scatter by their own noise and by real differences between them: whichever is larger speaks for the middle one. */
function scatterOf(used: readonly EdgeValue[]): Component {
  const own = median(used.map(ownStandard))
  const scatter = used.length >= FEWEST_FOR_SCATTER ? clippedDeviation(used.map(v => v.value)) : 0
  const each = Math.max(own, scatter)
  const sensitivity = (used.length > 2 ? MEDIAN_PENALTY : 1) / Math.sqrt(used.length)
  return {
    name: 'edges',
    standard: each * sensitivity,
    type: 'A',
    input: { standard: each, unit: 'um' },
    sensitivity,
    degreesOfFreedom:
      scatter > own ? used.length - 1 : allOf(used.map(v => expandedUncertainty(v.own).degreesOfFreedom)),
  }
}

/** Standard deviation with far-off values drawn in (winsorised: Tukey; from memory). */
function clippedDeviation(values: readonly number[]): number {
  const centre = median(values)
  const reach = CLIPPED_AT * robustDeviation(values)
  const clipped = reach > 0 ? values.map(v => Math.min(centre + reach, Math.max(centre - reach, v))) : values
  const mean = clipped.reduce((sum, v) => sum + v, 0) / clipped.length
  return Math.sqrt(clipped.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (clipped.length - 1))
}

/** Degrees of freedom of several edges together; null: infinite. */
function allOf(freedoms: readonly (number | null)[]): number | null {
  const told = freedoms.filter(freedom => freedom !== null)
  return told.length < freedoms.length / 2 ? null : told.length * median(told)
}

/** Shared effects as components of the middle: each source by its mean over the edges, sources of one name in squares. */
function sharedComponents(used: readonly EdgeValue[]): Component[] {
  const sources = new Map<string, { of: SharedEffect; sum: number }>()
  for (const v of used)
    for (const of of v.shared) {
      const kept = sources.get(of.source)
      if (kept === undefined) sources.set(of.source, { of, sum: of.effect })
      else kept.sum += of.effect
    }
  const names = new Map<string, { of: SharedEffect; squares: number; input: number }>()
  for (const { of, sum } of sources.values()) {
    const square = (sum / used.length) ** 2
    const kept = names.get(of.name)
    if (kept === undefined) names.set(of.name, { of, squares: square, input: of.input.standard })
    else {
      kept.squares += square
      kept.input = Math.max(kept.input, of.input.standard)
    }
  }
  return [...names.values()].map(({ of, squares, input }) => {
    const standard = Math.sqrt(squares)
    return {
      name: of.name,
      standard,
      type: of.type,
      input: { standard: input, unit: of.input.unit },
      sensitivity: input > 0 ? standard / input : 0,
      degreesOfFreedom: of.degreesOfFreedom,
    }
  })
}

/** What is not known of the length of a pixel, as effects on a width along one direction. */
export function sizeEffects(doubts: LengthDoubts, edge: MeasuredEdge, value: number): SharedEffect[] {
  return doubts[edge.spread.direction].map(({ name, share, type, degreesOfFreedom }) => ({
    name: name.replace(/, (across|along)$/, ''),
    source: name,
    effect: share * value,
    type,
    input: { standard: share, unit: '1' },
    degreesOfFreedom,
  }))
}

const SCALE_SOURCE = 'light scale '

/** Which error of the light scale a source is; null for others. */
export function scaleSource(source: string): number | null {
  return source.startsWith(SCALE_SOURCE) ? Number(source.slice(SCALE_SOURCE.length)) : null
}

/** Errors of the light scale as effects on a width; the quantity is a step's certified density. */
export function scaleEffects(effects: readonly number[], doubts: LengthDoubts): SharedEffect[] {
  const { steps } = doubts
  const each = steps.reduce((sum, step) => sum + step.standard, 0) / Math.max(1, steps.length)
  return effects.map((effect, k) => ({
    name: 'light scale',
    source: `${SCALE_SOURCE}${k}`,
    effect,
    type: 'B',
    input: { standard: each, unit: 'D' },
    degreesOfFreedom: null,
  }))
}
