import { blockLoops } from '../kernels/block-loops.js'

/** Blocks are handed to the compiled loop so many at a time. */
const PIECE = 16_384

/** Blocks of an overview that belong to areas of one label, each area with a level of light of its own. */
export interface LevelledBlocks {
  /** Of each block: its light, its label and, where that is `label`, the number of its area. */
  readonly light: Float32Array
  readonly labels: Uint8Array
  readonly label: number
  readonly area: Int32Array
  /** Light of each area, by its number. */
  readonly levels: Float32Array
}

/**
 * Places of the blocks that are lighter than their area, in reading order.
 * @param above by area: how much lighter than its level
 * @param others blocks of other labels than these two, and than that of the areas, come as well; null: no others
 */
export function lighterBlocks(
  { light, labels, label, area, levels }: LevelledBlocks,
  above: Float64Array,
  others: readonly [number, number] | null,
): Int32Array {
  const solids = above.length
  const levelsAt = 0
  const aboveAt = 8 * solids
  const lightAt = 16 * solids
  const areaAt = lightAt + 4 * PIECE
  const intoAt = areaAt + 4 * PIECE
  const labelsAt = intoAt + 4 * PIECE
  const { memory, lighterBlocks: take } = blockLoops(labelsAt + PIECE)
  new Float64Array(memory, levelsAt, solids).set(levels)
  new Float64Array(memory, aboveAt, solids).set(above)
  const piece = {
    labels: new Uint8Array(memory, labelsAt, PIECE),
    light: new Float32Array(memory, lightAt, PIECE),
    area: new Int32Array(memory, areaAt, PIECE),
    into: new Int32Array(memory, intoAt, PIECE),
  }
  let found = new Int32Array(4096)
  let count = 0
  for (let from = 0; from < light.length; from += PIECE) {
    const to = Math.min(light.length, from + PIECE)
    piece.labels.set(labels.subarray(from, to))
    piece.light.set(light.subarray(from, to))
    piece.area.set(area.subarray(from, to))
    const more = take(
      labelsAt,
      lightAt,
      areaAt,
      to - from,
      label,
      others === null ? 0 : 1,
      others?.[0] ?? 0,
      others?.[1] ?? 0,
      levelsAt,
      aboveAt,
      intoAt,
    )
    if (count + more > found.length) {
      const larger = new Int32Array(Math.max(2 * found.length, count + more))
      larger.set(found)
      found = larger
    }
    for (let k = 0; k < more; k++) found[count++] = from + piece.into[k]!
  }
  return found.subarray(0, count)
}
