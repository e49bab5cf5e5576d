import type { BlockOverview } from '../imaging/block-overview.js'
import { type ConnectedGroup, labelComponents } from '../imaging/label-components.js'
import { lighterBlocks } from '../imaging/lighter-blocks.js'
import { type Regions, SOLID } from './find-light.js'
import { type InkLevel, levelled } from './ink-level.js'

/** An area of a solid that lets more light through than the solid does, without being open. */
export interface ThinSpot extends ConnectedGroup {
  /** Sum over its blocks of the light above the solid's, in blocks of clear film. */
  readonly open: number
  /** Its blocks, by their number in the overview. */
  readonly blocks: readonly number[]
}

/** 0.15 D less than the solid, one step of a usual tablet: 41 % more light. */
const LEAST_ABOVE = 10 ** 0.15 - 1
/** Above the scatter of the solid's own blocks by so many times: among two million blocks of a page none by chance. */
const LEAST_SIGMAS = 8
/** And by this share of clear light (a solid of D 4 that is D 3.3 somewhere): below, no light worth the name comes through. */
const LEAST_SHARE = 0.0003
/** Blocks: one alone may be a grain of dust below the solid's flatness. */
const LEAST_BLOCKS = 3
/** Share of the blocks round it that belong to the solid: the soft rim of a solid has clear film on one side. */
const SURROUNDED = 0.9
/** Its soft rim goes as far as light is above the solid's by so many times its scatter, and by this share of it: 0.03 D. */
const RIM_SIGMAS = 2.5
const RIM_ABOVE = 0.07
/** No rim is so many times as large as what it lies round. */
const MOST_GROWN = 4
/** Blocks: a cell of 3 mm, in which and round which (9 x 9 mm) more light places than the next figure are the dots of a tint that has run shut. */
const CELL_BLOCKS = 18
const MOST_TOGETHER = 12
/** Dots of a tint are of one size: the ragged rim of a thin area and grain beside it are none of them. */
const LIKE_SIZE = 0.25

/** Thin areas inside solids on the overview, not the dots of a tint that has run shut. `span`: light of clear film less that of solids. */
export function thinSpots(overview: BlockOverview, regions: Regions, ink: InkLevel, span: number): ThinSpot[] {
  const { columns, rows, light } = overview
  const marks = new Uint8Array(columns * rows)
  const least = Float64Array.from(ink.light, (level, area) =>
    Math.max(LEAST_ABOVE * Math.max(0, level), LEAST_SIGMAS * ink.scatter[area]!, LEAST_SHARE * span),
  )
  for (const i of lighterBlocks(levelled(light, regions, ink), least, null)) marks[i] = 1
  const { labels, groups } = labelComponents(marks, columns, rows)
  const crowd = crowds(groups, columns, rows)
  const found: ThinSpot[] = []
  for (const g of groups) {
    if (g.cells < LEAST_BLOCKS || crowd(g) > MOST_TOGETHER) continue
    let round = 0
    let solid = 0
    const blocks: number[] = []
    for (let r = g.top - 1; r <= g.bottom + 1; r++)
      for (let c = g.left - 1; c <= g.right + 1; c++) {
        if (r < 0 || c < 0 || r >= rows || c >= columns) continue
        const i = r * columns + c
        if (labels[i] === g.label) {
          blocks.push(i)
          continue
        }
        if (!touches(labels, columns, rows, r, c, g.label)) continue
        round++
        if (regions.labels[i] === SOLID) solid++
      }
    if (solid >= SURROUNDED * round) found.push({ ...g, open: openOf(blocks), blocks })
  }
  return found

  /** What its blocks and those of its soft rim let through. */
  function openOf(blocks: readonly number[]): number {
    const held = new Set(blocks)
    const reached = [...blocks]
    let open = 0
    for (let k = 0; k < reached.length; k++) {
      const i = reached[k]!
      open += above(i) / span
      if (reached.length > MOST_GROWN * blocks.length + 40) continue
      for (const next of [i - columns, i - 1, i + 1, i + columns]) {
        if (held.has(next) || regions.labels[next] !== SOLID) continue
        const area = ink.area[next]!
        if (above(next) <= Math.max(RIM_SIGMAS * ink.scatter[area]!, RIM_ABOVE * ink.light[area]!)) continue
        held.add(next)
        reached.push(next)
      }
    }
    return open
  }

  function above(i: number): number {
    return light[i]! - ink.light[ink.area[i]!]!
  }
}

/** How many groups of about its size and more lie in the cell of one and the eight round it, itself among them. */
function crowds(groups: readonly ConnectedGroup[], columns: number, rows: number): (group: ConnectedGroup) => number {
  const across = Math.ceil(columns / CELL_BLOCKS)
  const down = Math.ceil(rows / CELL_BLOCKS)
  const cells: number[][] = Array.from({ length: across * down }, () => [])
  const cellOf = (g: ConnectedGroup): readonly [number, number] => [
    Math.floor((g.left + g.right) / 2 / CELL_BLOCKS),
    Math.floor((g.top + g.bottom) / 2 / CELL_BLOCKS),
  ]
  for (const g of groups) {
    const [c, r] = cellOf(g)
    cells[r * across + c]!.push(g.cells)
  }
  return g => {
    const [c, r] = cellOf(g)
    let sum = 0
    for (let y = Math.max(0, r - 1); y <= Math.min(down - 1, r + 1); y++)
      for (let x = Math.max(0, c - 1); x <= Math.min(across - 1, c + 1); x++)
        for (const size of cells[y * across + x]!) if (size >= LIKE_SIZE * g.cells) sum++
    return sum
  }
}

function touches(labels: Int32Array, columns: number, rows: number, r: number, c: number, label: number): boolean {
  for (let dr = -1; dr <= 1; dr++)
    for (let dc = -1; dc <= 1; dc++) {
      const rr = r + dr
      const cc = c + dc
      if (rr >= 0 && cc >= 0 && rr < rows && cc < columns && labels[rr * columns + cc] === label) return true
    }
  return false
}
