// The loops over every block of an overview, in AssemblyScript, compiled by `npm run kernels` to ../block-loops-code.ts.
// Every argument that is a place counts bytes from the start of the memory; the caller lays the memory out and hands rows or blocks over in pieces.

import { marked, sixteen } from './lists.js'

// A run of marked cells: row, first column, last column, parent run (i32).
const RUN_BYTES: usize = 16

function find(runs: usize, run: i32): i32 {
  let root = run
  let next = load<i32>(runs + (<usize>root) * RUN_BYTES, 12)
  while (next != root) {
    root = next
    next = load<i32>(runs + (<usize>root) * RUN_BYTES, 12)
  }
  let at = run
  next = load<i32>(runs + (<usize>at) * RUN_BYTES, 12)
  while (next != root) {
    store<i32>(runs + (<usize>at) * RUN_BYTES, root, 12)
    at = next
    next = load<i32>(runs + (<usize>at) * RUN_BYTES, 12)
  }
  return root
}

/**
 * Takes the runs of marked cells of rows and joins each to those it touches in the row above, by sides or corners; the earlier run is the root.
 * @param state i32: runs so far, first and end of those of the row above
 * @param room most runs; stops before a row that might have more
 * @returns rows taken
 */
export function joinRuns(
  marks: usize,
  mark: i32,
  columns: i32,
  rows: i32,
  row: i32,
  state: usize,
  runs: usize,
  room: i32,
): i32 {
  let count = load<i32>(state)
  let aboveFrom = load<i32>(state, 4)
  let aboveTo = load<i32>(state, 8)
  const most = (columns >> 1) + 1
  let r = 0
  for (; r < rows && count + most <= room; r++) {
    const first = count
    let above = aboveFrom
    const from = marks + <usize>(r * columns)
    let column = 0
    while (column < columns) {
      while (column + 16 <= columns && !v128.any_true(sixteen(from + <usize>column, mark))) column += 16
      while (column < columns && !marked(from + <usize>column, mark)) column++
      if (column >= columns) break
      const left = column
      while (column + 16 <= columns && i8x16.all_true(sixteen(from + <usize>column, mark))) column += 16
      while (column < columns && marked(from + <usize>column, mark)) column++
      const right = column - 1
      const run = runs + (<usize>count) * RUN_BYTES
      store<i32>(run, row + r)
      store<i32>(run, left, 4)
      store<i32>(run, right, 8)
      store<i32>(run, count, 12)
      // Runs above that end before this one's corner reach no later run either.
      while (above < aboveTo && load<i32>(runs + (<usize>above) * RUN_BYTES, 8) < left - 1) above++
      for (let k = above; k < aboveTo && load<i32>(runs + (<usize>k) * RUN_BYTES, 4) <= right + 1; k++) {
        const a = find(runs, k)
        const b = find(runs, count)
        if (a < b) store<i32>(runs + (<usize>b) * RUN_BYTES, a, 12)
        else if (b < a) store<i32>(runs + (<usize>a) * RUN_BYTES, b, 12)
      }
      count++
    }
    aboveFrom = first
    aboveTo = count
  }
  store<i32>(state, count)
  store<i32>(state, aboveFrom, 4)
  store<i32>(state, aboveTo, 8)
  return r
}

/**
 * Which blocks are lighter than their solid by more than `above`, and with `others` also the blocks that are neither solid nor one of two labels.
 * @param labels u8, `light` f32 and `area` i32 of each block; `levels` and `above`: f64 by area
 * @param into places of the blocks, from 0, i32; room for all
 * @returns how many
 */
export function lighterBlocks(
  labels: usize,
  light: usize,
  area: usize,
  n: i32,
  solid: i32,
  others: i32,
  clear: i32,
  open: i32,
  levels: usize,
  above: usize,
  into: usize,
): i32 {
  let count = 0
  for (let i = 0; i < n; i++) {
    const label = load<u8>(labels + <usize>i) as i32
    if (label == solid) {
      const at = (<usize>load<i32>(area + ((<usize>i) << 2))) << 3
      if (!((load<f32>(light + ((<usize>i) << 2)) as f64) > load<f64>(levels + at) + load<f64>(above + at))) continue
    } else if (!others || label == clear || label == open) continue
    store<i32>(into + ((<usize>count) << 2), i)
    count++
  }
  return count
}
