// The loops that look for places on the blocks of an overview, in AssemblyScript, compiled by `npm run kernels` to ../place-loops-code.ts: windows of one
// label, where dark and clear meet, bars, the largest rectangles. Every argument that is a place counts bytes from the start of the memory; the caller
// lays the memory out and hands rows over in pieces.

import { block, marked, sixteen, whole } from './lists.js'

// @ts-expect-error: decorator
@inline
function putWhole(list: usize, i: i32, value: i32): void {
  store<i32>(list + ((<usize>i) << 2), value)
}

// @ts-expect-error: decorator
@inline
function byteAt(list: usize, i: i32): i32 {
  return load<u8>(list + <usize>i) as i32
}

/**
 * Where windows of marked cells begin, from the last of these rows to the first.
 * @param marks u8; `mark` below 0: marked is what is not 0
 * @param below i32 by column: rows below, counted from the bottom up, on which a run of `width` begins
 * @param fits u8, 1 or 0
 */
export function fullRows(
  marks: usize,
  mark: i32,
  columns: i32,
  rows: i32,
  width: i32,
  height: i32,
  below: usize,
  fits: usize,
): void {
  const none = i32x4.splat(0)
  for (let r = rows - 1; r >= 0; r--) {
    const from = <usize>(r * columns)
    let run = 0
    let c = columns - 1
    while (c >= 0) {
      if (c >= 15 && !v128.any_true(sixteen(marks + from + <usize>(c - 15), mark))) {
        run = 0
        c -= 16
        const there = below + ((<usize>(c + 1)) << 2)
        v128.store(there, none)
        v128.store(there, none, 16)
        v128.store(there, none, 32)
        v128.store(there, none, 48)
        v128.store(fits + from + <usize>(c + 1), none)
        continue
      }
      const end = max(-1, c - 16)
      for (; c > end; c--) {
        run = marked(marks + from + <usize>c, mark) ? run + 1 : 0
        const high = run >= width ? whole(below, c) + 1 : 0
        putWhole(below, c, high)
        store<u8>(fits + from + <usize>c, high >= height ? 1 : 0)
      }
    }
  }
}

// A run of cells of one area: row, first column, last column, number of the area (i32).
const RUN_BYTES: usize = 16

/**
 * Of each area: how many windows begin in it, the first of them, the lightest and its mean light.
 * @param row of the page, the first of this piece
 * @param fits u8; light f32, `high + inset / columns` rows longer
 * @param inset blocks from a window's first to the first of those whose light counts, `wide` by `high` of them
 * @param counts firsts lightests: i32 by area, `lights` f64
 */
export function lightestWindows(
  runs: usize,
  count: i32,
  row: i32,
  fits: usize,
  light: usize,
  columns: i32,
  inset: i32,
  wide: i32,
  high: i32,
  counts: usize,
  firsts: usize,
  lightests: usize,
  lights: usize,
): void {
  for (let k = 0; k < count; k++) {
    const run = runs + (<usize>k) * RUN_BYTES
    const from = (load<i32>(run) - row) * columns
    const right = load<i32>(run, 8)
    const area = load<i32>(run, 12)
    for (let c = load<i32>(run, 4); c <= right; c++) {
      if (byteAt(fits, from + c) == 0) continue
      let sum: f64 = 0
      for (let r = 0; r < high; r++) {
        const first = from + c + inset + r * columns
        for (let i = first; i < first + wide; i++) sum += block(light, i)
      }
      const mean = sum / <f64>(wide * high)
      const index = row * columns + from + c
      const met = whole(counts, area)
      if (met == 0) putWhole(firsts, area, index)
      putWhole(counts, area, met + 1)
      const best = lights + ((<usize>area) << 3)
      if (mean > load<f64>(best)) {
        store<f64>(best, mean)
        putWhole(lightests, area, index)
      }
    }
  }
}

/**
 * Every so many windows of some areas, in reading order.
 * @param ranks i32 by area: which of the lists below is its own, below 0 none
 * @param steps met: i32 by rank, one in so many and how many were met
 * @param ends i32 by rank: where its next window is written in `into`, i32
 */
export function everyWindow(
  runs: usize,
  count: i32,
  row: i32,
  fits: usize,
  columns: i32,
  ranks: usize,
  steps: usize,
  met: usize,
  ends: usize,
  into: usize,
): void {
  for (let k = 0; k < count; k++) {
    const run = runs + (<usize>k) * RUN_BYTES
    const rank = whole(ranks, load<i32>(run, 12))
    if (rank < 0) continue
    const from = (load<i32>(run) - row) * columns
    const right = load<i32>(run, 8)
    const step = whole(steps, rank)
    let seen = whole(met, rank)
    let end = whole(ends, rank)
    for (let c = load<i32>(run, 4); c <= right; c++) {
      if (byteAt(fits, from + c) == 0) continue
      if (seen % step == 0) putWhole(into, end++, row * columns + from + c)
      seen++
    }
    putWhole(met, rank, seen)
    putWhole(ends, rank, end)
  }
}

/** Keeps the last row on which each column bears one of two labels: i32 by column. */
export function lastRows(labels: usize, columns: i32, row: i32, one: i32, other: i32, last: usize): void {
  const a = i8x16.splat(<i8>one)
  const b = i8x16.splat(<i8>other)
  let c = 0
  while (c < columns) {
    if (c + 16 <= columns) {
      const v = v128.load(labels + <usize>c)
      if (!v128.any_true(v128.or(i8x16.eq(v, a), i8x16.eq(v, b)))) {
        c += 16
        continue
      }
    }
    const end = min(columns, c + 16)
    for (; c < end; c++) {
      const label = byteAt(labels, c)
      if (label == one || label == other) putWhole(last, c, row)
    }
  }
}

/**
 * Runs of every other window of a row that have no column, `rim` beside them included, marked at or below row `top`.
 * @param fits u8 of the row of the windows' first cells
 * @param last i32 by column: the last row on which it is marked
 * @param into i32: first column and number of windows of each run
 * @returns runs
 */
export function freeWindows(fits: usize, columns: i32, width: i32, rim: i32, top: i32, last: usize, into: usize): i32 {
  let runs = 0
  let length = 0
  // The last marked column of those already looked at, and how many were.
  let marked = -1
  let looked = 0
  for (let c = 0; c + width <= columns; c += 2) {
    const right = min(columns, c + width + rim)
    for (; looked < right; looked++) if (whole(last, looked) >= top) marked = looked
    if (byteAt(fits, c) == 1 && marked < max(0, c - rim)) {
      if (length == 0) putWhole(into, 2 * runs, c)
      length++
    } else if (length > 0) {
      putWhole(into, 2 * runs + 1, length)
      runs++
      length = 0
    }
  }
  if (length > 0) {
    putWhole(into, 2 * runs + 1, length)
    runs++
  }
  return runs
}

// Two runs along a line where dark and clear meet: the line, whether the first is dark, where the first begins and ends, where the second does (i32).
const MEETING_BYTES: usize = 24

// @ts-expect-error: decorator
@inline
function putMeeting(into: usize, count: i32, line: i32, dark: boolean, b0: i32, b1: i32, a0: i32, a1: i32): void {
  const at = into + (<usize>count) * MEETING_BYTES
  store<i32>(at, line)
  store<i32>(at, dark ? 1 : 0, 4)
  store<i32>(at, b0, 8)
  store<i32>(at, b1, 12)
  store<i32>(at, a0, 16)
  store<i32>(at, a1, 20)
}

/**
 * Where runs of two labels, each of `least` cells or more, follow each other along a row with no more than `gap` cells between.
 * @param row of the page, the first of these
 * @param into room for as many as these rows can have: a row has `columns / least` at most
 * @returns how many
 */
export function rowMeetings(
  labels: usize,
  columns: i32,
  rows: i32,
  row: i32,
  dark: i32,
  clear: i32,
  least: i32,
  gap: i32,
  into: usize,
): i32 {
  let count = 0
  for (let r = 0; r < rows; r++) {
    const line = labels + <usize>(r * columns)
    let label = -1
    let start = 0
    let end = 0
    let c = 0
    while (c < columns) {
      const first = c
      const own = byteAt(line, c)
      c++
      while (c + 16 <= columns && i8x16.all_true(sixteen(line + <usize>c, own))) c += 16
      while (c < columns && byteAt(line, c) == own) c++
      if (own != dark && own != clear) continue
      if (label >= 0 && label != own && first - end <= gap && end - start >= least && c - first >= least)
        putMeeting(into, count++, row + r, label == dark, start, end, first, c)
      label = own
      start = first
      end = c
    }
  }
  return count
}

// Runs down a column: label and first row of the one that goes on; label, first row and end of the last dark or clear one (i32).
const DOWN_BYTES: usize = 20

// @ts-expect-error: decorator
@inline
function closeDown(
  state: usize,
  column: i32,
  end: i32,
  next: i32,
  dark: i32,
  clear: i32,
  least: i32,
  gap: i32,
  into: usize,
  count: i32,
): i32 {
  const run = state + (<usize>column) * DOWN_BYTES
  const own = load<i32>(run)
  const first = load<i32>(run, 4)
  if (own == dark || own == clear) {
    const label = load<i32>(run, 8)
    const start = load<i32>(run, 12)
    const last = load<i32>(run, 16)
    if (label >= 0 && label != own && first - last <= gap && last - start >= least && end - first >= least)
      putMeeting(into, count++, column, label == dark, start, last, first, end)
    store<i32>(run, own, 8)
    store<i32>(run, first, 12)
    store<i32>(run, end, 16)
  }
  store<i32>(run, next)
  store<i32>(run, end, 4)
  return count
}

/**
 * As `rowMeetings`, down the columns; in the order in which their second runs end.
 * @param labels the row above the first of these goes before it
 * @param row of the page, the first of these: 1 or more
 * @param state as above; before row 1 the labels of row 0, first row 0, and label -1
 * @param close ends all runs with the last of these rows
 * @param room most that there is room for; stops before a row that might have more
 * @param taken i32: rows taken
 * @returns how many
 */
export function columnMeetings(
  labels: usize,
  columns: i32,
  rows: i32,
  row: i32,
  dark: i32,
  clear: i32,
  least: i32,
  gap: i32,
  state: usize,
  into: usize,
  room: i32,
  taken: usize,
): i32 {
  let count = 0
  let r = 0
  for (; r < rows && count + columns <= room; r++) {
    const line = labels + <usize>((r + 1) * columns)
    const above = line - <usize>columns
    let c = 0
    while (c < columns) {
      if (c + 16 <= columns) {
        let bits = i8x16.bitmask(i8x16.ne(v128.load(line + <usize>c), v128.load(above + <usize>c)))
        while (bits != 0) {
          const column = c + ctz(bits)
          bits &= bits - 1
          count = closeDown(state, column, row + r, byteAt(line, column), dark, clear, least, gap, into, count)
        }
        c += 16
      } else {
        const next = byteAt(line, c)
        if (next != byteAt(above, c))
          count = closeDown(state, c, row + r, next, dark, clear, least, gap, into, count)
        c++
      }
    }
  }
  store<i32>(taken, r)
  return count
}

/** Ends all runs down the columns, after the last row. */
export function endColumns(
  columns: i32,
  rows: i32,
  dark: i32,
  clear: i32,
  least: i32,
  gap: i32,
  state: usize,
  into: usize,
): i32 {
  let count = 0
  for (let c = 0; c < columns; c++) count = closeDown(state, c, rows, -1, dark, clear, least, gap, into, count)
  return count
}

/**
 * Links crossings of neighbouring lines to chains: each chain, in the order in which they began, goes on with the crossing of the next line that lies
 * nearest to where it is heading, within a block and a half, or within `reach` once it has four.
 * @param places f64 along the line, `lines` i32 rising, `sides` u8: a chain keeps to one
 * @param before i32: the crossing before this one in its chain, -1 for the first; `lengths` i32: how many there are so far
 * @param open and `next`: i32, room for as many as there are crossings
 * @param ends i32: last crossings of all chains, those that ended first before the others
 * @returns how many chains
 */
export function linkChains(
  places: usize,
  lines: usize,
  sides: usize,
  count: i32,
  reach: f64,
  before: usize,
  lengths: usize,
  open: usize,
  next: usize,
  ends: usize,
): i32 {
  for (let k = 0; k < count; k++) putWhole(lengths, k, 0)
  let chains = 0
  let opened = 0
  let from = 0
  while (from < count) {
    const line = whole(lines, from)
    let to = from
    while (to < count && whole(lines, to) == line) to++
    let nexts = 0
    for (let o = 0; o < opened; o++) {
      const last = whole(open, o)
      const length = whole(lengths, last)
      const there = load<f64>(places + ((<usize>last) << 3))
      let heading = there
      let within: f64 = 1.5
      if (length >= 4) {
        const third = whole(before, whole(before, whole(before, last)))
        const off = there - load<f64>(places + ((<usize>third) << 3))
        heading = there + off / <f64>(whole(lines, last) - whole(lines, third))
        within = reach
      }
      let best = -1
      let nearest: f64 = Infinity
      if (whole(lines, last) == line - 1)
        for (let k = from; k < to; k++) {
          // One that has a length already belongs to another chain.
          if (whole(lengths, k) != 0 || byteAt(sides, k) != byteAt(sides, last)) continue
          const off = Math.abs(load<f64>(places + ((<usize>k) << 3)) - heading)
          if (off <= within && off < nearest) {
            nearest = off
            best = k
          }
        }
      if (best < 0) {
        putWhole(ends, chains++, last)
        continue
      }
      putWhole(before, best, last)
      putWhole(lengths, best, length + 1)
      putWhole(next, nexts++, best)
    }
    for (let k = from; k < to; k++) {
      if (whole(lengths, k) != 0) continue
      putWhole(lengths, k, 1)
      putWhole(before, k, -1)
      putWhole(next, nexts++, k)
    }
    const other = open
    open = next
    next = other
    opened = nexts
    from = to
  }
  for (let o = 0; o < opened; o++) putWhole(ends, chains++, whole(open, o))
  return chains
}

/** Which of the places lies nearest to another one. Columns and rows i32. */
export function nearestPlace(columns: usize, rows: usize, n: i32, column: f64, row: f64): i32 {
  let best = 0
  let least: f64 = Infinity
  for (let i = 0; i < n; i++) {
    const dc = <f64>whole(columns, i) - column
    const dr = <f64>whole(rows, i) - row
    const off = dc * dc + dr * dr
    if (off < least) {
      least = off
      best = i
    }
  }
  return best
}

/**
 * Which of the places lies farthest from all those taken, one of which is now taken.
 * @param nearest f64: squared distance of each from the nearest taken one, before and after
 */
export function farthestPlace(columns: usize, rows: usize, n: i32, taken: i32, nearest: usize): i32 {
  const column = whole(columns, taken)
  const row = whole(rows, taken)
  let far = 0
  let most: f64 = -1
  for (let i = 0; i < n; i++) {
    const dc = <f64>(whole(columns, i) - column)
    const dr = <f64>(whole(rows, i) - row)
    const there = nearest + ((<usize>i) << 3)
    const off = min(load<f64>(there), dc * dc + dr * dr)
    store<f64>(there, off)
    if (off > most) {
      most = off
      far = i
    }
  }
  return far
}

/** Marks blocks darker than `below`: 1, else 0. */
export function darkBlocks(light: usize, n: i32, below: f64, marks: usize): void {
  for (let i = 0; i < n; i++) store<u8>(marks + <usize>i, block(light, i) < below ? 1 : 0)
}

// @ts-expect-error: decorator
@inline
function closeFrom(cell: usize, step: usize, square: boolean): void {
  if (load<u8>(cell + step) != 0) return
  if (load<u8>(cell + 2 * step) == 1) store<u8>(cell + step, 2)
  else if (square && load<u8>(cell + 3 * step) == 1) {
    store<u8>(cell + step, 2)
    store<u8>(cell + 2 * step, 2)
  }
}

/**
 * Marks (2) cells that are 0 and have a 1 on two opposite sides: cuts of up to two cells along rows and columns, of one on the slant.
 * @param marks u8, three rows and three cells longer: what lies beyond the page's end must be neither 0 nor 1
 */
export function closeCuts(marks: usize, columns: i32, n: i32): void {
  const wide = <usize>columns
  let i = 0
  while (i < n) {
    if (i + 16 <= n && !v128.any_true(sixteen(marks + <usize>i, 1))) {
      i += 16
      continue
    }
    const end = min(n, i + 16)
    for (; i < end; i++) {
      const cell = marks + <usize>i
      if (load<u8>(cell) != 1) continue
      closeFrom(cell, 1, true)
      closeFrom(cell, wide, true)
      closeFrom(cell, wide + 1, false)
      closeFrom(cell, wide - 1, false)
    }
  }
}

/**
 * Marks the cells of one row of a turned grid whose blocks bear the label: 1, else 0. Blocks from `x` and `y` on, a step from cell to cell.
 * @param labels u8 of the whole page
 */
export function markTurned(
  labels: usize,
  columns: i32,
  rows: i32,
  label: i32,
  x: f64,
  stepX: f64,
  y: f64,
  stepY: f64,
  cells: i32,
  mask: usize,
): void {
  for (let c = 0; c < cells; c++) {
    const column = Math.floor(x + <f64>c * stepX)
    const row = Math.floor(y + <f64>c * stepY)
    let mark = 0
    if (column >= 0 && row >= 0 && column < <f64>columns && row < <f64>rows)
      mark = byteAt(labels, <i32>row * columns + <i32>column) == label ? 1 : 0
    store<u8>(mask + <usize>c, mark)
  }
}

// @ts-expect-error: decorator
@inline
function growFour(heights: usize, four: v128): void {
  v128.store(heights, v128.and(four, i32x4.add(v128.load(heights), i32x4.splat(1))))
}

/** How many marked cells (1, else 0) end each column at this row. */
function growHeights(mask: usize, columns: i32, heights: usize): void {
  let c = 0
  for (; c + 16 <= columns; c += 16) {
    const all = i8x16.neg(v128.load(mask + <usize>c))
    const low = i16x8.extend_low_i8x16_s(all)
    const high = i16x8.extend_high_i8x16_s(all)
    const there = heights + ((<usize>c) << 2)
    growFour(there, i32x4.extend_low_i16x8_s(low))
    growFour(there + 16, i32x4.extend_high_i16x8_s(low))
    growFour(there + 32, i32x4.extend_low_i16x8_s(high))
    growFour(there + 48, i32x4.extend_high_i16x8_s(high))
  }
  for (; c < columns; c++) putWhole(heights, c, byteAt(mask, c) == 1 ? whole(heights, c) + 1 : 0)
}

/**
 * The largest rectangle of ones with both sides of `least` cells or more: histogram with a stack, row by row.
 * @param heights i32, one for each column, and `stack`: i32, one more
 * @param best i32: first column, first row, width and height
 * @returns its area, 0 when there is none
 */
export function largestRectangle(
  mask: usize,
  columns: i32,
  rows: i32,
  least: i32,
  heights: usize,
  stack: usize,
  best: usize,
): i32 {
  for (let c = 0; c < columns; c++) putWhole(heights, c, 0)
  const enough = i32x4.splat(least)
  let most = 0
  for (let r = 0; r < rows; r++) {
    growHeights(mask + <usize>(r * columns), columns, heights)
    // Only runs high and wide enough all along can hold one, and only if their greatest height leaves room for a larger one.
    let c = 0
    while (c < columns) {
      while (
        c + 4 <= columns &&
        !v128.any_true(i32x4.ge_s(v128.load(heights + ((<usize>c) << 2)), enough))
      )
        c += 4
      while (c < columns && whole(heights, c) < least) c++
      const start = c
      let tallest = 0
      for (; c < columns; c++) {
        const height = whole(heights, c)
        if (height < least) break
        if (height > tallest) tallest = height
      }
      if (c - start < least || (c - start) * tallest <= most) continue
      let depth = 0
      for (let k = start; k <= c; k++) {
        const height = k < c ? whole(heights, k) : 0
        while (depth > 0) {
          const tall = whole(heights, whole(stack, depth - 1))
          if (tall < height) break
          depth--
          const left = depth > 0 ? whole(stack, depth - 1) + 1 : start
          const width = k - left
          if (width >= least && width * tall > most) {
            most = width * tall
            store<i32>(best, left)
            store<i32>(best, r - tall + 1, 4)
            store<i32>(best, width, 8)
            store<i32>(best, tall, 12)
          }
        }
        putWhole(stack, depth++, k)
      }
    }
  }
  return most
}
