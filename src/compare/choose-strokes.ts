import type { GridPicture } from '../imaging/find-placement.js'
import type { Stroke } from '../measure/measure-stroke.js'

/** The page is divided into so many cells a side; every cell is asked in turn. */
const CELLS = 6
/** A wide stroke is two edges further apart, where the scanner's own unevenness comes in: so many um count as one more of width. */
const WIDTH_WEIGHT_UM = 500

/**
 * The strokes to measure: the longest and narrowest of every part of the page in turn, of both directions and of lines and gaps.
 * @param most how many
 */
export function chooseStrokes(strokes: readonly Stroke[], page: GridPicture, most: number): Stroke[] {
  const groups = new Map<string, Stroke[]>()
  for (const stroke of strokes) {
    const column = Math.floor((((stroke.x - page.x0) / page.dx) * CELLS) / page.columns)
    const row = Math.floor((((stroke.y - page.y0) / page.dy) * CELLS) / page.rows)
    const direction = Math.abs(stroke.tx) > Math.abs(stroke.ty) ? 'along' : 'across'
    const key = `${direction},${stroke.kind},${column},${row}`
    const group = groups.get(key)
    if (group === undefined) groups.set(key, [stroke])
    else group.push(stroke)
  }
  const worth = (stroke: Stroke) => stroke.length / (1 + stroke.width / WIDTH_WEIGHT_UM)
  for (const group of groups.values()) group.sort((a, b) => worth(b) - worth(a))
  const chosen: Stroke[] = []
  for (let round = 0; chosen.length < most; round++) {
    const layer = [...groups.values()].flatMap(group => group[round] ?? [])
    if (layer.length === 0) break
    layer.sort((a, b) => worth(b) - worth(a))
    chosen.push(...layer.slice(0, most - chosen.length))
  }
  return chosen
}
