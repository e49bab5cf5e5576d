import { type BlockLoops, blockLoops } from '../kernels/block-loops.js'

/** One connected group of marked cells. */
export interface ConnectedGroup {
  readonly label: number
  readonly cells: number
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
}

/** Marks are handed to the compiled loop in pieces of about so many bytes, at least a row. */
const PIECE_BYTES = 64 << 10
/** Room for so many runs is kept for the next grid; where there are more it is made anew, twice as large each time. */
const RUNS_KEPT = 65_536
const RUN_BYTES = 16
const STATE_BYTES = 16

interface RunRoom {
  readonly loops: BlockLoops
  readonly runs: number
  readonly pieceBytes: number
}

let kept: RunRoom | null = null

function runRoom(runs: number, pieceBytes: number): RunRoom {
  return { loops: blockLoops(STATE_BYTES + RUN_BYTES * runs + pieceBytes), runs, pieceBytes }
}

/** Runs of marked cells along rows, in reading order, and the groups they are joined to. */
export interface ConnectedRuns {
  /** Four numbers each: row, first column, last column, number of the group. */
  readonly runs: Int32Array
  /** In reading order of their first cell. */
  readonly groups: readonly ConnectedGroup[]
}

/**
 * Groups of marked cells joined by sides or corners (8-connected): runs of each row are joined to those of the row above by
 * union-find (Hoshen & Kopelman, Phys. Rev. B 14, 3438, 1976, on runs; from memory), so the cost is that of reading the grid.
 * @param marks rows x columns; cells that are `mark`, or where none is told not 0, are marked
 */
export function connectedRuns(marks: Uint8Array, columns: number, rows: number, mark = -1): ConnectedRuns {
  if (marks.length !== columns * rows)
    throw new RangeError(`marks must have ${columns * rows} entries; got ${marks.length}`)
  const runs = joinedRuns(marks, columns, rows, mark)
  const groups: { label: number; cells: number; left: number; top: number; right: number; bottom: number }[] = []
  for (let at = 0, run = 0; at < runs.length; at += 4, run++) {
    const row = runs[at]!
    const left = runs[at + 1]!
    const right = runs[at + 2]!
    const parent = runs[at + 3]!
    if (parent === run) {
      groups.push({ label: groups.length + 1, cells: right - left + 1, left, top: row, right, bottom: row })
      runs[at + 3] = groups.length
      continue
    }
    // A parent comes before its runs, so the number of its group is there already.
    const label = runs[4 * parent + 3]!
    runs[at + 3] = label
    const group = groups[label - 1]!
    group.cells += right - left + 1
    if (left < group.left) group.left = left
    if (right > group.right) group.right = right
    group.bottom = row
  }
  return { runs, groups }
}

/**
 * As `connectedRuns`, with the number of each cell's group. A page of labels takes longer to write than to find: ask for runs where they do.
 * @returns `labels`, 0 where unmarked, else the group's number from 1
 */
export function labelComponents(
  marks: Uint8Array,
  columns: number,
  rows: number,
  mark = -1,
): { labels: Int32Array; groups: readonly ConnectedGroup[] } {
  const { runs, groups } = connectedRuns(marks, columns, rows, mark)
  const labels = new Int32Array(marks.length)
  for (let at = 0; at < runs.length; at += 4) {
    const row = runs[at]! * columns
    const label = runs[at + 3]!
    const end = row + runs[at + 2]! + 1
    let cell = row + runs[at + 1]!
    if (end - cell > SHORT_RUN) labels.fill(label, cell, end)
    else for (; cell < end; cell++) labels[cell] = label
  }
  return { labels, groups }
}

/** Cells written one by one sooner than by a call. */
const SHORT_RUN = 16

/** All runs in reading order, four numbers each: row, first column, last column, parent run. */
function joinedRuns(marks: Uint8Array, columns: number, rows: number, mark: number): Int32Array {
  const pieceRows = Math.max(1, Math.floor(PIECE_BYTES / Math.max(1, columns)))
  const pieceBytes = Math.max(PIECE_BYTES, columns)
  const most = (columns >> 1) + 1
  let room = kept !== null && kept.pieceBytes >= pieceBytes ? kept : runRoom(Math.max(RUNS_KEPT, most), pieceBytes)
  if (room.runs === RUNS_KEPT) kept = room
  new Int32Array(room.loops.memory, 0, STATE_BYTES / 4).fill(0)
  for (let row = 0; row < rows; ) {
    const marksAt = STATE_BYTES + RUN_BYTES * room.runs
    const piece = marks.subarray(row * columns, Math.min(rows, row + pieceRows) * columns)
    new Uint8Array(room.loops.memory, marksAt, piece.length).set(piece)
    const wanted = Math.min(pieceRows, rows - row)
    const taken = room.loops.joinRuns(marksAt, mark, columns, wanted, row, 0, STATE_BYTES, room.runs)
    row += taken
    if (taken < wanted) {
      const larger = runRoom(2 * room.runs + most, room.pieceBytes)
      const used = STATE_BYTES + RUN_BYTES * room.runs
      new Uint8Array(larger.loops.memory).set(new Uint8Array(room.loops.memory, 0, used))
      room = larger
    }
  }
  const count = new Int32Array(room.loops.memory, 0, 1)[0]!
  return new Int32Array(room.loops.memory, STATE_BYTES, 4 * count).slice()
}
