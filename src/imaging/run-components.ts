/** Sums of one closed component; read it at once, the place is used again. Whole numbers are exact below 2^53. */
export interface ClosedComponent {
  cells: number
  left: number
  top: number
  right: number
  bottom: number
  /** Sums over its cells of column, row, their squares and their product. */
  sumColumn: number
  sumRow: number
  sumColumn2: number
  sumRow2: number
  sumBoth: number
}

export interface RunComponents {
  startRow(row: number): void
  /** The next run of marked cells of this row, left to right, not touching the one before. */
  addRun(left: number, right: number): void
  /** Ends the row: components that did not go on into it are closed. */
  endRow(): void
  /** Closes what is left. */
  finish(): void
}

const SUMS = 6
const BOX = 4

/**
 * Connected components (8-connected) of rows of runs as they come, in memory that goes with the runs of two rows and the components open there,
 * however many rows there are: union-find on runs (Hoshen & Kopelman, Phys. Rev. B 14, 3438, 1976, on runs; from memory), with the
 * sums of each component carried along and its place used again once it is closed.
 * @param closed called for each component when no later run can join it, in order of last row
 */
export function runComponents(closed: (component: ClosedComponent) => void): RunComponents {
  let sums = new Float64Array(1024 * SUMS)
  // Left, right, top, last row.
  let boxes = new Int32Array(1024 * BOX)
  let parents = new Int32Array(1024)
  let places = 0
  const free: number[] = []
  const merged: number[] = []
  let runs = { left: new Int32Array(1024), right: new Int32Array(1024), owner: new Int32Array(1024) }
  let above = { left: new Int32Array(1024), right: new Int32Array(1024), owner: new Int32Array(1024) }
  let count = 0
  let aboveCount = 0
  let next = 0
  let row = 0
  const out: ClosedComponent = {
    cells: 0,
    left: 0,
    top: 0,
    right: 0,
    bottom: 0,
    sumColumn: 0,
    sumRow: 0,
    sumColumn2: 0,
    sumRow2: 0,
    sumBoth: 0,
  }

  const place = (): number => {
    const used = free.pop()
    if (used !== undefined) return used
    if (places === parents.length) {
      sums = grown(sums, Float64Array)
      boxes = grown(boxes, Int32Array)
      parents = grown(parents, Int32Array)
    }
    return places++
  }
  const root = (of: number): number => {
    let at = of
    while (parents[at] !== at) at = parents[at]!
    return at
  }
  const join = (into: number, from: number): void => {
    parents[from] = into
    merged.push(from)
    for (let k = 0; k < SUMS; k++) sums[into * SUMS + k]! += sums[from * SUMS + k]!
    const a = into * BOX
    const b = from * BOX
    if (boxes[b]! < boxes[a]!) boxes[a] = boxes[b]!
    if (boxes[b + 1]! > boxes[a + 1]!) boxes[a + 1] = boxes[b + 1]!
    if (boxes[b + 2]! < boxes[a + 2]!) boxes[a + 2] = boxes[b + 2]!
    if (boxes[b + 3]! > boxes[a + 3]!) boxes[a + 3] = boxes[b + 3]!
  }
  const close = (at: number): void => {
    const s = at * SUMS
    const b = at * BOX
    out.cells = sums[s]!
    out.sumColumn = sums[s + 1]!
    out.sumRow = sums[s + 2]!
    out.sumColumn2 = sums[s + 3]!
    out.sumRow2 = sums[s + 4]!
    out.sumBoth = sums[s + 5]!
    out.left = boxes[b]!
    out.right = boxes[b + 1]!
    out.top = boxes[b + 2]!
    out.bottom = boxes[b + 3]!
    closed(out)
  }
  const closeAbove = (before: number): void => {
    for (let k = 0; k < aboveCount; k++) {
      const at = root(above.owner[k]!)
      // A closed one stands closed for its further runs.
      if (boxes[at * BOX + 3]! >= before || boxes[at * BOX + 3]! < 0) continue
      close(at)
      boxes[at * BOX + 3] = -1
      merged.push(at)
    }
  }

  return {
    startRow(which) {
      row = which
      count = 0
      next = 0
    },
    addRun(left, right) {
      while (next < aboveCount && above.right[next]! < left - 1) next++
      let owner = -1
      for (let k = next; k < aboveCount && above.left[k]! <= right + 1; k++) {
        const other = root(above.owner[k]!)
        if (owner < 0) owner = other
        else if (other !== owner) join(owner, other)
      }
      if (owner < 0) {
        owner = place()
        parents[owner] = owner
        sums.fill(0, owner * SUMS, owner * SUMS + SUMS)
        boxes[owner * BOX] = left
        boxes[owner * BOX + 1] = right
        boxes[owner * BOX + 2] = row
      }
      const n = right - left + 1
      const s = owner * SUMS
      const b = owner * BOX
      const sum = ((left + right) * n) / 2
      // Squares of n numbers about their middle: n (middle^2 + (n^2 - 1) / 12).
      const middle = (left + right) / 2
      sums[s]! += n
      sums[s + 1]! += sum
      sums[s + 2]! += row * n
      sums[s + 3]! += n * (middle * middle + (n * n - 1) / 12)
      sums[s + 4]! += row * row * n
      sums[s + 5]! += row * sum
      if (left < boxes[b]!) boxes[b] = left
      if (right > boxes[b + 1]!) boxes[b + 1] = right
      boxes[b + 3] = row
      if (count === runs.left.length)
        runs = {
          left: grown(runs.left, Int32Array),
          right: grown(runs.right, Int32Array),
          owner: grown(runs.owner, Int32Array),
        }
      runs.left[count] = left
      runs.right[count] = right
      runs.owner[count++] = owner
    },
    endRow() {
      closeAbove(row)
      for (let k = 0; k < count; k++) runs.owner[k] = root(runs.owner[k]!)
      // Nothing points at what was merged or closed any more.
      for (const at of merged) free.push(at)
      merged.length = 0
      const kept = above
      above = runs
      aboveCount = count
      runs = kept
      count = 0
    },
    finish() {
      closeAbove(Number.POSITIVE_INFINITY)
      aboveCount = 0
      merged.length = 0
    },
  }
}

function grown<T extends Float64Array | Int32Array>(list: T, Kind: new (length: number) => T): T {
  const larger = new Kind(list.length * 2)
  larger.set(list)
  return larger
}
