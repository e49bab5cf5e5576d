import { compiledLoops } from './compiled-loops.js'
import { SPOT_LOOPS } from './spot-loops-code.js'

/** What one page is gone over for. Levels are codes, each above the one before; groups longer than `longestPx` are let go. */
export interface SpotPage {
  readonly width: number
  readonly blockPx: number
  readonly lightAbove: number
  readonly middle: number
  readonly darkBelow: number
  readonly longestPx: number
  /** Most rows handed over at once. */
  readonly mostRows: number
}

/** The compiled loops of `assembly/spot-loops.ts` with a memory of their own, laid out for one page. */
export interface SpotLoops {
  /** Room for rows of codes that `takeRows` reads. */
  readonly codes: Uint16Array
  /** Room for least and greatest code of each block of a row that `cutRow` reads. */
  readonly least: Uint16Array
  readonly greatest: Uint16Array
  /** Begins a row of blocks; whether none of its codes is needed. */
  cutRow(): boolean
  /** Takes rows from `codes`, beginning with its row `from`, which is the page's row `row`; fewer when closed groups must be fetched first. */
  takeRows(from: number, row: number, rows: number): number
  /** Closes what is open, once the closed ones have been fetched. */
  endPage(): void
  /** Hands out the groups closed so far: sums at `at` of `sums`, the box at `box` of `boxes`, and which kind (light, dark, upper, lower) it is of. */
  fetch(closed: (kind: number, sums: Float64Array, at: number, boxes: Int32Array, box: number) => void): void
}

interface Exports {
  cutRow(least: number, greatest: number): void
  plainRow(): number
  takeRows(codes: number, row: number, rows: number): number
  endPage(): void
}

/** As in the source: of the page, of each kind, of a run, a group's sums, its box, and a closed group. */
const HEAD_BYTES = 64
const KIND_BYTES = 64
const KINDS = 4
const RUN_BYTES = 12
const SUMS_BYTES = 48
const BOX_BYTES = 16
const OUT_BYTES = 72
const OUT_COUNT = 44 / 4
/** Closed groups beyond what one row can close. */
const SPARE = 4096

export function spotLoops({ width, blockPx, lightAbove, middle, darkBelow, longestPx, mostRows }: SpotPage): SpotLoops {
  const columns = Math.ceil(width / blockPx)
  // Runs of one kind do not touch; open groups have a run in the row above or in this one.
  const runs = Math.floor(width / 2) + 1
  const groups = 2 * runs
  const outRoom = 2 * (width + 2) + SPARE
  let end = HEAD_BYTES + KINDS * KIND_BYTES
  const room = (bytes: number): number => {
    const at = end
    end += Math.ceil(bytes / 16) * 16
    return at
  }
  const endsAt = room(4 * columns)
  const classesAt = room(columns)
  const leastAt = room(2 * columns)
  const greatestAt = room(2 * columns)
  const outAt = room(OUT_BYTES * outRoom)
  const kinds = Array.from({ length: KINDS }, () => [
    room(RUN_BYTES * runs),
    room(RUN_BYTES * runs),
    room(SUMS_BYTES * groups),
    room(BOX_BYTES * groups),
    room(4 * groups),
    room(4 * groups),
    room(4 * groups),
  ])
  const codesAt = room(2 * width * mostRows)
  const { memory, exports } = compiledLoops<Exports>(SPOT_LOOPS, end)
  const ints = new Int32Array(memory)
  ints.set([width, blockPx, columns, lightAbove, middle, darkBelow, longestPx, 0, endsAt, classesAt, outAt, 0, outRoom])
  // The first seven numbers of a kind count, and begin at 0.
  for (const [k, places] of kinds.entries()) ints.set(places, (HEAD_BYTES + k * KIND_BYTES) / 4 + 7)
  const floats = new Float64Array(memory, 0, Math.floor(memory.byteLength / 8))
  return {
    codes: new Uint16Array(memory, codesAt, width * mostRows),
    least: new Uint16Array(memory, leastAt, columns),
    greatest: new Uint16Array(memory, greatestAt, columns),
    cutRow() {
      exports.cutRow(leastAt, greatestAt)
      return exports.plainRow() === 1
    },
    takeRows: (from, row, rows) => exports.takeRows(codesAt + 2 * width * from, row, rows),
    endPage: () => exports.endPage(),
    fetch(closed) {
      const count = ints[OUT_COUNT]!
      for (let i = 0; i < count; i++) {
        const at = outAt + OUT_BYTES * i
        const box = (at + SUMS_BYTES) / 4
        closed(ints[box + 4]!, floats, at / 8, ints, box)
      }
      ints[OUT_COUNT] = 0
    },
  }
}
