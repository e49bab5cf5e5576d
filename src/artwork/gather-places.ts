/** A connected group of marked cells, whole rows at a time. */
export interface CellGroup {
  readonly cells: number
  readonly left: number
  readonly right: number
  readonly top: number
  readonly bottom: number
}

interface Run {
  readonly from: number
  readonly to: number
  readonly group: number
}

/**
 * Connected groups (8 neighbours) of marked cells out of rows handed in one after the other: only the last row's runs are kept, so memory does not grow with the
 * page (Hoshen & Kopelman, Phys. Rev. B 14, 3438, 1976, on runs; from memory).
 * @param most groups; with more `row` answers false and nothing further is taken
 */
export function gatherPlaces(mark: number, most: number) {
  let before: Run[] = []
  const parent: number[] = []
  const groups: { cells: number; left: number; right: number; top: number; bottom: number }[] = []
  const root = (group: number): number => {
    let at = group
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]!]!
      at = parent[at]!
    }
    return at
  }
  return {
    /** Takes row `index`, which must follow the last one; false when there are too many groups. */
    row(index: number, marks: Uint8Array): boolean {
      const runs: Run[] = []
      let first = 0
      for (let c = marks.indexOf(mark); c >= 0 && c < marks.length; c = marks.indexOf(mark, c)) {
        const from = c
        while (c < marks.length && marks[c] === mark) c++
        const to = c - 1
        let group = -1
        while (first < before.length && before[first]!.to < from - 1) first++
        for (let k = first; k < before.length && before[k]!.from <= to + 1; k++) {
          const other = root(before[k]!.group)
          if (group < 0) group = other
          else if (other !== group) {
            const into = groups[group]!
            const gone = groups[other]!
            parent[other] = group
            into.cells += gone.cells
            into.left = Math.min(into.left, gone.left)
            into.right = Math.max(into.right, gone.right)
            into.top = Math.min(into.top, gone.top)
          }
        }
        if (group < 0) {
          if (groups.length >= most) return false
          group = groups.length
          parent.push(group)
          groups.push({ cells: 0, left: from, right: to, top: index, bottom: index })
        }
        const into = groups[group]!
        into.cells += to - from + 1
        into.left = Math.min(into.left, from)
        into.right = Math.max(into.right, to)
        into.bottom = index
        runs.push({ from, to, group })
      }
      before = runs
      return true
    },
    groups(): CellGroup[] {
      return groups.filter((_, i) => parent[i] === i)
    },
  }
}
