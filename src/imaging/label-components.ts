/** One connected group of marked cells. */
export interface ConnectedGroup {
  readonly label: number
  readonly cells: number
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
}

/**
 * Groups of marked cells joined by sides or corners (8-connected): runs of each row are joined to those of the row above by
 * union-find (Hoshen & Kopelman, Phys. Rev. B 14, 3438, 1976, on runs; from memory), so the cost is that of reading the grid.
 * @param marks rows x columns; cells not 0 are marked
 * @returns `labels`, 0 where unmarked, else the group's number from 1; groups in reading order of their first cell
 */
export function labelComponents(
  marks: Uint8Array,
  columns: number,
  rows: number,
): { labels: Int32Array; groups: ConnectedGroup[] } {
  if (marks.length !== columns * rows)
    throw new RangeError(`marks must have ${columns * rows} entries; got ${marks.length}`)
  // Runs, four numbers each: row, first column, last column, parent run.
  let runs = new Int32Array(4096)
  let count = 0
  const find = (run: number): number => {
    let root = run
    while (runs[root * 4 + 3] !== root) root = runs[root * 4 + 3]!
    while (runs[run * 4 + 3] !== root) {
      const next = runs[run * 4 + 3]!
      runs[run * 4 + 3] = root
      run = next
    }
    return root
  }
  let aboveFrom = 0
  let aboveTo = 0
  for (let row = 0; row < rows; row++) {
    const first = count
    let above = aboveFrom
    const from = row * columns
    let column = 0
    while (column < columns) {
      if (marks[from + column] === 0) {
        column++
        continue
      }
      const left = column
      while (column < columns && marks[from + column] !== 0) column++
      const right = column - 1
      if ((count + 1) * 4 > runs.length) {
        const larger = new Int32Array(runs.length * 2)
        larger.set(runs)
        runs = larger
      }
      runs[count * 4] = row
      runs[count * 4 + 1] = left
      runs[count * 4 + 2] = right
      runs[count * 4 + 3] = count
      // Runs above that end before this one's corner reach no later run either.
      while (above < aboveTo && runs[above * 4 + 2]! < left - 1) above++
      for (let k = above; k < aboveTo && runs[k * 4 + 1]! <= right + 1; k++) {
        const a = find(k)
        const b = find(count)
        // The earlier run is the root, so that a group is met first at its first cell.
        if (a < b) runs[b * 4 + 3] = a
        else if (b < a) runs[a * 4 + 3] = b
      }
      count++
    }
    aboveFrom = first
    aboveTo = count
  }

  const labels = new Int32Array(marks.length)
  const labelOf = new Int32Array(count)
  const groups: { label: number; cells: number; left: number; top: number; right: number; bottom: number }[] = []
  for (let run = 0; run < count; run++) {
    const root = find(run)
    const row = runs[run * 4]!
    const left = runs[run * 4 + 1]!
    const right = runs[run * 4 + 2]!
    if (root === run) {
      groups.push({ label: groups.length + 1, cells: 0, left, top: row, right, bottom: row })
      labelOf[run] = groups.length
    }
    const label = labelOf[root]!
    const group = groups[label - 1]!
    group.cells += right - left + 1
    group.left = Math.min(group.left, left)
    group.right = Math.max(group.right, right)
    group.bottom = row
    labels.fill(label, row * columns + left, row * columns + right + 1)
  }
  return { labels, groups }
}
