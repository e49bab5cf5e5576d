// The loops that see light on the blocks of an overview, in AssemblyScript, compiled by `npm run kernels` to ../light-loops-code.ts: what is open light,
// base and solid, the light round a place, the fall of light over a page. Every argument that is a place counts bytes from the start of the memory; the
// caller lays the memory out and hands blocks or rows over in pieces.

import { at, block, put } from './lists.js'

/** The greatest of f32 light and of `greatest`. */
export function greatestLight(light: usize, n: i32, greatest: f32): f32 {
  let most = f32x4.splat(greatest)
  let i = 0
  for (; i + 4 <= n; i += 4) most = f32x4.pmax(most, v128.load(light + ((<usize>i) << 2)))
  let found = max(
    max(f32x4.extract_lane(most, 0), f32x4.extract_lane(most, 1)),
    max(f32x4.extract_lane(most, 2), f32x4.extract_lane(most, 3)),
  )
  for (; i < n; i++) found = max(found, load<f32>(light + ((<usize>i) << 2)))
  return found
}

/**
 * Marks the blocks whose least and greatest code (u16) are no more than `within` apart in light.
 * @param table f32, light of every code
 * @param flat u8, 1 or 0
 */
export function flatBlocks(least: usize, greatest: usize, n: i32, table: usize, within: f64, flat: usize): void {
  for (let i = 0; i < n; i++) {
    const low = load<u16>(least + ((<usize>i) << 1)) as i32
    const high = load<u16>(greatest + ((<usize>i) << 1)) as i32
    store<u8>(flat + <usize>i, block(table, high) - block(table, low) <= within ? 1 : 0)
  }
}

/**
 * Counts flat blocks lighter than `least` by bins of density below the brightest.
 * @param steps light is first looked up by so many steps of the brightest: `first` i32, bin of the brightest light of each
 * @param ends f64, light at the dim end of each bin but the last, `bins` of them
 * @param counts i32, added to
 */
export function countDensities(
  light: usize,
  flat: usize,
  n: i32,
  least: f64,
  brightest: f64,
  steps: i32,
  first: usize,
  ends: usize,
  bins: i32,
  counts: usize,
): void {
  for (let i = 0; i < n; i++) {
    if (load<u8>(flat + <usize>i) == 0) continue
    const value = block(light, i)
    if (!(value > least)) continue
    let bin = load<i32>(first + ((<usize>i32(Math.floor((value / brightest) * <f64>steps))) << 2))
    while (bin < bins && value < at(ends, bin)) bin++
    const there = counts + ((<usize>bin) << 2)
    store<i32>(there, load<i32>(there) + 1)
  }
}

/** Sum and count of the light of flat blocks between `from` and `to` of each of `levels` levels; all f64, added to. */
export function sumLevels(
  light: usize,
  flat: usize,
  n: i32,
  from: usize,
  to: usize,
  levels: i32,
  sums: usize,
  counts: usize,
): void {
  for (let i = 0; i < n; i++) {
    if (load<u8>(flat + <usize>i) == 0) continue
    const value = block(light, i)
    for (let k = 0; k < levels; k++) {
      if (!(value > at(from, k) && value < at(to, k))) continue
      put(sums, k, at(sums, k) + value)
      put(counts, k, at(counts, k) + 1)
    }
  }
}

/**
 * Labels each block by its light: `open` above `splitOpen`, and of those that are flat `base` above `leastBase`, `solid` below `mostSolid`, else 0.
 * @param film u8, 0 where open, else 1
 * @param dark u8, 1 where flat and below `darkBelow`
 */
export function labelBlocks(
  light: usize,
  flat: usize,
  n: i32,
  splitOpen: f64,
  leastBase: f64,
  mostSolid: f64,
  darkBelow: f64,
  open: i32,
  base: i32,
  solid: i32,
  labels: usize,
  film: usize,
  dark: usize,
): void {
  for (let i = 0; i < n; i++) {
    const value = block(light, i)
    const even = load<u8>(flat + <usize>i) == 1
    const isOpen = value > splitOpen
    const label = isOpen ? open : !even ? 0 : value > leastBase ? base : value < mostSolid ? solid : 0
    store<u8>(labels + <usize>i, label)
    store<u8>(film + <usize>i, isOpen ? 0 : 1)
    store<u8>(dark + <usize>i, even && value < darkBelow ? 1 : 0)
  }
}

/** How many blocks of one label hold a pixel at full scale. */
export function clippedBlocks(labels: usize, greatest: usize, n: i32, label: i32): i32 {
  let count = 0
  for (let i = 0; i < n; i++)
    if (load<u16>(greatest + ((<usize>i) << 1)) == 65535 && (load<u8>(labels + <usize>i) as i32) == label) count++
  return count
}

// @ts-expect-error: decorator
@inline
function same(own: v128, other: usize): v128 {
  return i8x16.eq(own, v128.load(other))
}

/**
 * Cells whose neighbours `reach` off, by sides and corners, all bear their own label; of these every `step`-th is written.
 * @param labels u8, from the row `reach` above the first one looked at to the row `reach` below the last
 * @param rows looked at, the first of them `row` of the page
 * @param taking 16 bytes, 255 for each label that takes part; labels are below 16
 * @param state i32: cells met so far, number of the next one written, written so far
 * @param step 0: none is written
 * @param into i32, places on the page
 */
export function innerCells(
  labels: usize,
  columns: i32,
  rows: i32,
  row: i32,
  reach: i32,
  taking: usize,
  state: usize,
  step: i32,
  into: usize,
): void {
  const table = v128.load(taking)
  const far = <usize>(reach * columns)
  const near = <usize>reach
  let met = load<i32>(state)
  let next = load<i32>(state, 4)
  let written = load<i32>(state, 8)
  for (let r = 0; r < rows; r++) {
    const line = labels + <usize>((r + reach) * columns)
    for (let c = reach; c < columns - reach; c += 16) {
      // The last sixteen may reach past the row: what lies there is not counted.
      const cell = line + <usize>c
      const own = v128.load(cell)
      let inner = i8x16.swizzle(table, own)
      if (!v128.any_true(inner)) continue
      inner = v128.and(inner, v128.and(same(own, cell - near), same(own, cell + near)))
      inner = v128.and(inner, v128.and(same(own, cell - far), same(own, cell + far)))
      inner = v128.and(inner, v128.and(same(own, cell - far - near), same(own, cell - far + near)))
      inner = v128.and(inner, v128.and(same(own, cell + far - near), same(own, cell + far + near)))
      let bits = i8x16.bitmask(inner)
      const left = columns - reach - c
      if (left < 16) bits &= (1 << left) - 1
      const count = popcnt(bits)
      if (step == 0 || met + count <= next) {
        met += count
        continue
      }
      while (bits != 0) {
        const place = ctz(bits)
        bits &= bits - 1
        if (met == next) {
          store<i32>(into + ((<usize>written) << 2), (row + r) * columns + c + place)
          written++
          next += step
        }
        met++
      }
    }
  }
  store<i32>(state, met)
  store<i32>(state, next, 4)
  store<i32>(state, written, 8)
}

/**
 * Sums of weighted least squares over rows of `n` terms: of each pair of terms, n x n, and of each term with the value (all f64, set).
 * @param weights u8: rows of 0 do not count
 */
export function normalSums(
  terms: usize,
  n: i32,
  values: usize,
  weights: usize,
  rows: i32,
  sums: usize,
  rights: usize,
): void {
  for (let j = 0; j < n * n; j++) put(sums, j, 0)
  for (let j = 0; j < n; j++) put(rights, j, 0)
  for (let i = 0; i < rows; i++) {
    if (load<u8>(weights + <usize>i) == 0) continue
    const row = terms + ((<usize>(i * n)) << 3)
    const value = at(values, i)
    for (let j = 0; j < n; j++) {
      const term = at(row, j)
      put(rights, j, at(rights, j) + term * value)
      for (let k = j; k < n; k++) put(sums, j * n + k, at(sums, j * n + k) + term * at(row, k))
    }
  }
  for (let j = 0; j < n; j++) for (let k = 0; k < j; k++) put(sums, j * n + k, at(sums, k * n + j))
}

/** How far each value lies off the fitted sum of its terms, either way. All f64. */
export function departures(terms: usize, n: i32, values: usize, fitted: usize, rows: i32, into: usize): void {
  for (let i = 0; i < rows; i++) {
    const row = terms + ((<usize>(i * n)) << 3)
    let sum: f64 = 0
    for (let k = 0; k < n; k++) sum += at(fitted, k) * at(row, k)
    put(into, i, Math.abs(at(values, i) - sum))
  }
}

/** Adds one row of light to the sums of all blocks above and left of each corner: `columns + 1` f64, the first of them 0. */
export function addSummed(light: usize, columns: i32, sums: usize): void {
  let line: f64 = 0
  for (let c = 0; c < columns; c++) {
    line += block(light, c)
    put(sums, c + 1, at(sums, c + 1) + line)
  }
}

/**
 * Mean light of one row of cells, `perColumn` blocks wide and `high` high, from the summed light below and above it; what is below is kept for the next row.
 * @param sums and `above`: f64, `columns + 1` of them
 */
export function meanCells(
  sums: usize,
  above: usize,
  columns: i32,
  perColumn: i32,
  cells: i32,
  high: i32,
  into: usize,
): void {
  for (let c = 0; c < cells; c++) {
    const c0 = c * perColumn
    const c1 = min(columns, c0 + perColumn)
    put(into, c, (at(sums, c1) - at(above, c1) - at(sums, c0) + at(above, c0)) / <f64>((c1 - c0) * high))
  }
  for (let c = 0; c <= columns; c++) put(above, c, at(sums, c))
}

// Light spread over a grid of cells: width and height of a cell in pixels (f64), columns, rows, the cells' mean light, weights across the row and
// down the column and how many there are of each, whether the rim's light goes on (i32), where what was worked out is kept, 0 until then: cells
// spread along their row, and those also down their column, both column by column, so that what one place needs lies together; and the number of an
// earlier field that is the same but for the rim, below 0 for none.
const FIELD_BYTES: usize = 64

/** The weights laid along a line of cells, `step` bytes from one to the next, at one place of it. */
function spreadOnce(
  cells: usize,
  step: usize,
  length: i32,
  place: i32,
  weights: usize,
  count: i32,
  onRim: boolean,
): f64 {
  const half = (count - 1) >> 1
  let sum: f64 = 0
  let k = 0
  // Before the line, on it, beyond it.
  for (; k < count && place + k < half; k++) if (onRim) sum += at(weights, k) * load<f64>(cells)
  const end = min(count, length - place + half)
  let from = cells + <usize>(place + k - half) * step
  for (; k < end; k++) {
    sum += at(weights, k) * load<f64>(from)
    from += step
  }
  for (; k < count; k++) if (onRim) sum += at(weights, k) * load<f64>(cells + <usize>(length - 1) * step)
  return sum
}

/** The weights laid along a line of cells at one place of it and at the next, both on the line from end to end. */
// @ts-expect-error: decorator
@inline
function spreadBoth(first: usize, weights: usize, count: i32): v128 {
  let sum = f64x2.splat(0)
  for (let k = 0; k < count; k++) {
    const from = (<usize>k) << 3
    sum = f64x2.add(sum, f64x2.mul(v128.load64_splat(weights + from), v128.load(first + from)))
  }
  return sum
}

/** Spreads the cells of two neighbouring columns along their rows; what is there already, when it is kept, stays. */
function spreadRows(
  field: usize,
  column: i32,
  right: i32,
  top: i32,
  bottom: i32,
  keep: boolean,
  here: usize,
  there: usize,
): void {
  const columns = load<i32>(field, 16)
  const mean = load<usize>(field, 24)
  const weights = load<usize>(field, 28)
  const count = load<i32>(field, 32)
  const onRim = load<i32>(field, 44) != 0
  const half = (count - 1) >> 1
  const inside = right == column + 1 && column >= half && right + half < columns
  for (let r = top; r <= bottom; r++) {
    if (keep && at(here, r) != 0 && at(there, r) != 0) continue
    const line = mean + ((<usize>(r * columns)) << 3)
    if (inside) {
      const both = spreadBoth(line + ((<usize>(column - half)) << 3), weights, count)
      put(here, r, f64x2.extract_lane(both, 0))
      put(there, r, f64x2.extract_lane(both, 1))
    } else {
      put(here, r, spreadOnce(line, 8, columns, column, weights, count, onRim))
      put(there, r, spreadOnce(line, 8, columns, right, weights, count, onRim))
    }
  }
}

/** Spreads two neighbouring cells of a column, whose rows were spread, down that column. */
function spreadColumn(field: usize, row: i32, below: i32, wide: usize, spread: usize): void {
  const rows = load<i32>(field, 20)
  const weights = load<usize>(field, 36)
  const count = load<i32>(field, 40)
  const onRim = load<i32>(field, 44) != 0
  const half = (count - 1) >> 1
  if (below == row + 1 && row >= half && below + half < rows) {
    const both = spreadBoth(wide + ((<usize>(row - half)) << 3), weights, count)
    put(spread, row, f64x2.extract_lane(both, 0))
    put(spread, below, f64x2.extract_lane(both, 1))
  } else {
    put(spread, row, spreadOnce(wide, 8, rows, row, weights, count, onRim))
    put(spread, below, spreadOnce(wide, 8, rows, below, weights, count, onRim))
  }
}

/**
 * Light of each of the fields at a place in pixels, by linear steps between cells.
 * @param keep whether what is worked out is kept, and what was kept is used
 * @param scratch f64: two for each weight down a column, and six more
 * @param span f64 from one column to the next in it
 * @param into f64, one for each field
 */
export function surroundAt(
  fields: usize,
  count: i32,
  column: f64,
  row: f64,
  keep: boolean,
  scratch: usize,
  span: i32,
  into: usize,
): void {
  for (let k = 0; k < count; k++) {
    const field = fields + (<usize>k) * FIELD_BYTES
    const columns = load<i32>(field, 16)
    const rows = load<i32>(field, 20)
    const x = min<f64>(<f64>(columns - 1), max<f64>(0, (column + 0.5) / load<f64>(field) - 0.5))
    const y = min<f64>(<f64>(rows - 1), max<f64>(0, (row + 0.5) / load<f64>(field, 8) - 0.5))
    const c = max(0, min(columns - 2, <i32>Math.floor(x)))
    const r = max(0, min(rows - 2, <i32>Math.floor(y)))
    const right = min(columns - 1, c + 1)
    const below = min(rows - 1, r + 1)
    const fx = x - <f64>c
    const fy = y - <f64>r
    const twin = load<i32>(field, 56)
    const halfAcross = (load<i32>(field, 32) - 1) >> 1
    const halfDown = (load<i32>(field, 40) - 1) >> 1
    if (
      twin >= 0 &&
      c >= halfAcross &&
      right + halfAcross < columns &&
      r >= halfDown &&
      below + halfDown < rows
    ) {
      put(into, k, at(into, twin))
      continue
    }
    const top = max(0, r - halfDown)
    // Columns of cells spread along their rows and of those spread, each counted from row 0 of the page.
    let wideHere = scratch - ((<usize>top) << 3)
    let wideThere = wideHere + ((<usize>span) << 3)
    let here = scratch + ((<usize>(2 * span - r)) << 3)
    let there = here + 16
    if (keep) {
      wideHere = load<usize>(field, 48) + ((<usize>(c * rows)) << 3)
      wideThere = load<usize>(field, 48) + ((<usize>(right * rows)) << 3)
      here = load<usize>(field, 52) + ((<usize>(c * rows)) << 3)
      there = load<usize>(field, 52) + ((<usize>(right * rows)) << 3)
    }
    if (!keep || at(here, r) == 0 || at(here, below) == 0 || at(there, r) == 0 || at(there, below) == 0) {
      spreadRows(field, c, right, top, min(rows - 1, below + halfDown), keep, wideHere, wideThere)
      spreadColumn(field, r, below, wideHere, here)
      spreadColumn(field, r, below, wideThere, there)
    }
    const upper = at(here, r) * (1 - fx) + at(there, r) * fx
    const lower = at(here, below) * (1 - fx) + at(there, below) * fx
    put(into, k, upper * (1 - fy) + lower * fy)
  }
}
