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
 * Groups of marked cells joined by sides or corners (8-connected), by flood fill.
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
  const labels = new Int32Array(marks.length)
  const groups: ConnectedGroup[] = []
  const stack: number[] = []
  for (let seed = 0; seed < marks.length; seed++) {
    if (marks[seed] === 0 || labels[seed] !== 0) continue
    const label = groups.length + 1
    const group = { label, cells: 0, left: columns, top: rows, right: 0, bottom: 0 }
    labels[seed] = label
    stack.push(seed)
    while (stack.length > 0) {
      const at = stack.pop()!
      const column = at % columns
      const row = (at - column) / columns
      group.cells++
      group.left = Math.min(group.left, column)
      group.right = Math.max(group.right, column)
      group.top = Math.min(group.top, row)
      group.bottom = Math.max(group.bottom, row)
      for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++)
        for (let c = Math.max(0, column - 1); c <= Math.min(columns - 1, column + 1); c++) {
          const next = r * columns + c
          if (marks[next] !== 0 && labels[next] === 0) {
            labels[next] = label
            stack.push(next)
          }
        }
    }
    groups.push(group)
  }
  return { labels, groups }
}
