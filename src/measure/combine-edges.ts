import { median, robustDeviation } from '../imaging/robust.js'
import type { Bound, Component, Part, Reading } from '../model/reading.js'
import type { MeasuredEdge } from './measured-edge.js'

/** One edge's value of a width, um. */
export interface EdgeValue {
  readonly edge: MeasuredEdge
  readonly value: number
  /** Standard uncertainty that differs from edge to edge. */
  readonly random: number
  /** Standard uncertainty shared by all edges (the scanner's width, the solid's net density). */
  readonly shared: readonly Component[]
  readonly bound: Bound | null
}

/** The median of n values is this much less certain than their mean (normal values): sqrt(pi / 2). */
const MEDIAN_PENALTY = 1.2533

export function edgePart(v: EdgeValue): Part {
  const shared = v.shared.reduce((sum, c) => sum + c.standard ** 2, 0)
  return {
    id: v.edge.id,
    place: {
      column: (v.edge.spread.from.column + v.edge.spread.to.column) / 2,
      row: (v.edge.spread.from.row + v.edge.spread.to.row) / 2,
    },
    value: v.value,
    expanded: 2 * Math.sqrt(v.random ** 2 + shared),
    bound: v.bound,
  }
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
  const own = median(used.map(v => v.random))
  // Edges scatter by their own noise and by real differences between them: whichever is larger speaks for the middle one.
  const scatter = used.length >= 4 ? robustDeviation(used.map(v => v.value)) : 0
  const random = (Math.max(own, scatter) * (used.length > 2 ? MEDIAN_PENALTY : 1)) / Math.sqrt(used.length)
  const shared = used[0]!.shared.map((c, k) => ({
    name: c.name,
    standard: median(used.map(v => v.shared[k]!.standard)),
  }))
  const budget: Component[] = [{ name: 'edges', standard: random }, ...shared]
  return {
    value,
    unit: 'um',
    expanded: 2 * Math.sqrt(budget.reduce((sum, c) => sum + c.standard ** 2, 0)),
    bound,
    n: values.length,
    parts: values.map(edgePart),
    budget,
    method,
  }
}
