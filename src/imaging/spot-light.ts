import type { CodeWindow } from '../model/scan.js'
import { labelComponents } from './label-components.js'
import { median, robustDeviation } from './robust.js'

/** What one spot adds to (or takes from) the light of its surround. */
export interface SpotLight {
  /** Sum over its pixels and their blurred rim of what it changes, as a share of clear less solid, pixels. */
  readonly area: number
  /** Standard uncertainty of that sum from noise and from the level round it, pixels. */
  readonly standard: number
  /** Greatest share at one pixel: near 1 where the scanner sees it whole. */
  readonly core: number
  /** Centre of gravity, scan pixels. */
  readonly column: number
  readonly row: number
  /** Its pixels beyond the level, and how many pixel sides its outline has: sides times pi / 8 is about the length of a thin curve (Cauchy). */
  readonly cells: number
  readonly sides: number
}

/** Fewer pixels round a spot tell no level. */
const LEAST_ROUND = 8

/**
 * Open area of a spot from the light it lets through: blur spreads light but keeps its sum, so the sum of (T - surround) / (clear - solid) over the
 * spot and the reach of the blur is the open area, however coarse the pixels. The light between it and a neighbour goes to the nearer.
 * @param window codes round the spot, its box and the reach of the blur on all sides as far as the scan goes
 * @param table light for every code
 * @param box the spot's own box, scan pixels
 * @param sense 1: light in dark, -1: dark in light
 * @param level code that the spot's pixels are beyond
 * @param around light of what surrounds it when the window cannot tell; `other` light of what it shows where fully open
 */
export function spotLight(
  window: CodeWindow,
  table: Float32Array,
  box: { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number },
  sense: 1 | -1,
  level: number,
  reach: number,
  around: number,
  other: number,
): SpotLight | null {
  const { width, height, codes } = window
  const n = width * height
  const marks = new Uint8Array(n)
  for (let i = 0; i < n; i++) marks[i] = (codes[i]! - level) * sense > 0 ? 1 : 0
  const { labels, groups } = labelComponents(marks, width, height)
  let own = 0
  let best = -1
  for (const g of groups) {
    const left = g.left + window.column
    const right = g.right + window.column
    const top = g.top + window.row
    const bottom = g.bottom + window.row
    if (left === box.left && right === box.right && top === box.top && bottom === box.bottom) {
      own = g.label
      break
    }
    const inside = left >= box.left && right <= box.right && top >= box.top && bottom <= box.bottom
    if (inside && g.cells > best) {
      best = g.cells
      own = g.label
    }
  }
  if (own === 0) return null

  // Whose light a pixel is: steps outwards from all groups at once, up to the reach of the blur. 1 its own, 2 another's.
  const whose = new Uint8Array(n)
  let front: number[] = []
  for (let i = 0; i < n; i++) {
    if (labels[i] === 0) continue
    whose[i] = labels[i] === own ? 1 : 2
    front.push(i)
  }
  for (let step = 0; step < reach && front.length > 0; step++) {
    const reached: number[] = []
    for (const i of front) {
      const c = i % width
      const r = (i - c) / width
      for (let dr = -1; dr <= 1; dr++) {
        if (r + dr < 0 || r + dr >= height) continue
        for (let dc = -1; dc <= 1; dc++) {
          if (c + dc < 0 || c + dc >= width) continue
          const k = i + dr * width + dc
          if (whose[k] !== 0) continue
          whose[k] = whose[i]!
          reached.push(k)
        }
      }
    }
    front = reached
  }

  const round: number[] = []
  for (let i = 0; i < n; i++) if (whose[i] === 0) round.push(table[codes[i]!]!)
  const told = round.length >= LEAST_ROUND
  const surround = told ? median(round) : around
  const noise = told ? robustDeviation(round) : 0
  const span = Math.abs(other - surround)
  if (!(span > 0)) return null
  let sum = 0
  let cells = 0
  let core = 0
  let sumColumn = 0
  let sumRow = 0
  let ownCells = 0
  let sides = 0
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const i = r * width + c
      if (whose[i] !== 1) continue
      const share = ((table[codes[i]!]! - surround) * sense) / span
      sum += share
      cells++
      if (share > core) core = share
      sumColumn += share * c
      sumRow += share * r
      if (labels[i] !== own) continue
      ownCells++
      if (c === 0 || labels[i - 1] !== own) sides++
      if (c === width - 1 || labels[i + 1] !== own) sides++
      if (r === 0 || labels[i - width] !== own) sides++
      if (r === height - 1 || labels[i + width] !== own) sides++
    }
  if (!(sum > 0)) return null
  const levelError = told ? noise / Math.sqrt(round.length) : 0.02 * span
  return {
    area: sum,
    standard: Math.sqrt(cells * (noise / span) ** 2 + (cells * (levelError / span)) ** 2),
    core,
    column: window.column + sumColumn / sum,
    row: window.row + sumRow / sum,
    cells: ownCells,
    sides,
  }
}
