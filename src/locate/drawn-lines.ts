import type { BlockOverview } from '../imaging/block-overview.js'
import type { FoundSpots, Spots } from '../imaging/find-spots.js'
import type { CloserLook } from './closer-look.js'
import { onAxis } from './film-turns.js'
import { LIKE_DASHES, LONGEST_STEP } from './flaw-sizes.js'
import type { LightLine } from './light-lines.js'
import type { LikeSpots } from './like-spots.js'

/** Open groups apart from each other that make a dashed line. */
const LEAST_DASHES = 3
/** A line so near an edge, um, and within so many blocks at one distance from it. */
const ALONG_UM = 1600
const ALONG_EVEN = 1.8

/** A rule is straight and even within this share of its width and half a pixel, and makes up most of the line. */
const EVEN_RULE = 1.2
const MOST_OF_LINE = 0.8

/** What tells a drawn line from a scratch. */
interface LineGround {
  readonly overview: BlockOverview
  readonly spots: FoundSpots
  /** Of the light spots. */
  readonly like: LikeSpots
  readonly closer: CloserLook
  /** Of the film, degrees. */
  readonly turns: readonly number[]
  /** Light of a block beyond the edge of ink. */
  readonly clearAbove: number
  readonly um: number
}

/** Whether a light line that looks like a scratch was drawn: dashes, a rule, an outline, a stroke of a letter. */
export function drawnLines({
  overview,
  spots,
  like,
  closer,
  turns,
  clearAbove,
  um,
}: LineGround): (line: LightLine) => boolean {
  const { columns, rows, blockPx } = overview
  const blockOf = (column: number, row: number) =>
    Math.min(rows - 1, Math.floor(row / blockPx)) * columns + Math.min(columns - 1, Math.floor(column / blockPx))
  return line =>
    isDashed(line) || isRule(line) || !closer.linesThroughInk(line.blocks, line.widthMm) || alongEdge(line.blocks)

  /** Whether a line is a row of open dashes with ink between them. */
  function isDashed({ blocks }: LightLine): boolean {
    const own = new Set(blocks)
    const held = (list: Spots) => {
      const there: number[] = []
      for (let i = 0; i < list.count; i++) if (own.has(blockOf(list.column[i]!, list.row[i]!))) there.push(i)
      return there
    }
    // A faint scratch shows as beads, none of which is open for half a pixel.
    const pieces = Math.min(held(spots.light).length, held(spots.upper).length)
    if (pieces < 2) return false
    return pieces >= LEAST_DASHES || held(spots.light).some(i => like.company(i, LONGEST_STEP / um) >= LIKE_DASHES)
  }

  /** Whether a line whose width seemed uneven block by block, by what lies beside it, is an even straight one along the film's axes pixel by pixel. */
  function isRule({ blocks, lengthMm }: LightLine): boolean {
    const own = new Set(blocks)
    const list = spots.light
    for (let i = 0; i < list.count; i++) {
      const lengthPx = list.long[i]! * Math.sqrt(12)
      if (lengthPx * um < 1000 * MOST_OF_LINE * lengthMm || !own.has(blockOf(list.column[i]!, list.row[i]!))) continue
      if (
        list.short[i]! * Math.sqrt(12) <= EVEN_RULE * (list.cells[i]! / lengthPx) + 0.5 &&
        onAxis(list.angle[i]!, turns)
      )
        return true
    }
    return false
  }

  /** Whether a line keeps one distance to the edge of its ink: an outline, drawn. */
  function alongEdge(blocks: readonly number[]): boolean {
    const own = new Set(blocks)
    const reach = Math.round(ALONG_UM / (blockPx * um))
    let least = Number.POSITIVE_INFINITY
    let most = 0
    for (const block of blocks) {
      const c0 = block % columns
      const r0 = (block - c0) / columns
      let near = Number.POSITIVE_INFINITY
      for (let r = Math.max(0, r0 - reach); r <= Math.min(rows - 1, r0 + reach); r++)
        for (let c = Math.max(0, c0 - reach); c <= Math.min(columns - 1, c0 + reach); c++) {
          const at = r * columns + c
          if (overview.light[at]! > clearAbove && !own.has(at)) near = Math.min(near, Math.hypot(c - c0, r - r0))
        }
      if (near > reach) return false
      least = Math.min(least, near)
      most = Math.max(most, near)
    }
    return most - least <= ALONG_EVEN
  }
}
