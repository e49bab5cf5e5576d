// Connected groups of pixels at four levels of one page, row by row, in AssemblyScript, compiled by `npm run kernels` to ../spot-loops-code.ts.
// Every place counts bytes from the start of the memory, which ../spot-loops.ts lays out.

// What holds for the page, i32 each from the start of the memory.
const WIDTH: usize = 0
const BLOCK: usize = 4
const COLUMNS: usize = 8
const LIGHT_ABOVE: usize = 12
const MIDDLE: usize = 16
const DARK_BELOW: usize = 20
const LONGEST: usize = 24
const PIECES: usize = 28
const ENDS_AT: usize = 32
const CLASSES_AT: usize = 36
const OUT_AT: usize = 40
const OUT_COUNT: usize = 44
const OUT_ROOM: usize = 48

// And for each of the four kinds of group, i32 each.
const KINDS: usize = 64
const KIND_BYTES: usize = 64
const FROM: usize = 0
const COUNT: usize = 4
const ABOVE_COUNT: usize = 8
const NEXT: usize = 12
const USED: usize = 16
const FREE_COUNT: usize = 20
const MERGED_COUNT: usize = 24
const RUNS_AT: usize = 28
const ABOVE_AT: usize = 32
const SUMS_AT: usize = 36
const BOXES_AT: usize = 40
const PARENTS_AT: usize = 44
const FREE_AT: usize = 48
const MERGED_AT: usize = 52

const LIGHT: usize = KINDS
const DARK: usize = KINDS + KIND_BYTES
const UPPER: usize = KINDS + 2 * KIND_BYTES
const LOWER: usize = KINDS + 3 * KIND_BYTES

// A run: left, right, group. A group's sums: cells, column, row, their squares, their product (f64); its box: left, right, top, last row.
const RUN_BYTES: usize = 12
const SUMS_BYTES: usize = 48
const BOX_BYTES: usize = 16
// A closed group as it is handed out: its sums, then left, top, right, bottom and its kind.
const OUT_BYTES: usize = 72

/** A block that holds several classes. */
const MIXED: i32 = 4

// @ts-expect-error: decorator
@inline
function get(part: usize, what: usize): i32 {
  return load<i32>(part + what)
}

// @ts-expect-error: decorator
@inline
function set(part: usize, what: usize, value: i32): void {
  store<i32>(part + what, value)
}

// @ts-expect-error: decorator
@inline
function place(part: usize, what: usize): usize {
  return load<u32>(part + what) as usize
}

/** 0 up to the first level, 1 up to the middle one, 2 below the last, else 3. */
// @ts-expect-error: decorator
@inline
function classOf(code: i32, lightAbove: i32, middle: i32, darkBelow: i32): i32 {
  return i32(code > lightAbove) + i32(code > middle) + i32(code >= darkBelow)
}

/** The pieces of one row of blocks: where each ends, and its class. `least` and `greatest`: u16 a block. */
export function cutRow(least: usize, greatest: usize): void {
  const width = load<i32>(WIDTH)
  const blockPx = load<i32>(BLOCK)
  const columns = load<i32>(COLUMNS)
  const lightAbove = load<i32>(LIGHT_ABOVE)
  const middle = load<i32>(MIDDLE)
  const darkBelow = load<i32>(DARK_BELOW)
  const ends = place(0, ENDS_AT)
  const classes = place(0, CLASSES_AT)
  let pieces: usize = 0
  let last = -1
  for (let b = 0; b < columns; b++) {
    const low = classOf(load<u16>(least + ((<usize>b) << 1)) as i32, lightAbove, middle, darkBelow)
    const high = classOf(load<u16>(greatest + ((<usize>b) << 1)) as i32, lightAbove, middle, darkBelow)
    const kind = low == high ? low : MIXED
    if (kind != last) {
      store<u8>(classes + pieces, <u8>kind)
      pieces++
      last = kind
    }
    store<i32>(ends + ((pieces - 1) << 2), min(width, (b + 1) * blockPx))
  }
  store<i32>(PIECES, <i32>pieces)
}

/** Whether the pieces cut last are all of one class each, so that no code of their rows is needed. */
export function plainRow(): i32 {
  const pieces = place(0, PIECES)
  const classes = place(0, CLASSES_AT)
  for (let p: usize = 0; p < pieces; p++) if (load<u8>(classes + p) == MIXED) return 0
  return 1
}

/** Takes rows of codes, from page row `row` on, all of the row of blocks cut last. Stops before a row whose closed groups might not fit. @returns rows taken */
export function takeRows(codes: usize, row: i32, rows: i32): i32 {
  const width = load<i32>(WIDTH)
  const most = 2 * (width + 2)
  for (let r = 0; r < rows; r++) {
    if (load<i32>(OUT_COUNT) + most > load<i32>(OUT_ROOM)) return r
    takeRow(codes + (<usize>r) * ((<usize>width) << 1), row + r, width)
  }
  return rows
}

/** Closes all groups. The list of closed ones must be empty. */
export function endPage(): void {
  for (let kind = LIGHT; kind <= LOWER; kind += KIND_BYTES) {
    closeAbove(kind, 0x7fffffff)
    set(kind, ABOVE_COUNT, 0)
    set(kind, MERGED_COUNT, 0)
  }
}

function takeRow(codes: usize, row: i32, width: i32): void {
  const lightAbove = load<i32>(LIGHT_ABOVE)
  const middle = load<i32>(MIDDLE)
  const darkBelow = load<i32>(DARK_BELOW)
  const light8 = i16x8.splat(<i16>lightAbove)
  const middle8 = i16x8.splat(<i16>middle)
  const dark8 = i16x8.splat(<i16>(darkBelow - 1))
  for (let kind = LIGHT; kind <= LOWER; kind += KIND_BYTES) {
    set(kind, COUNT, 0)
    set(kind, NEXT, 0)
  }
  const pieces = place(0, PIECES)
  const ends = place(0, ENDS_AT)
  const classes = place(0, CLASSES_AT)
  let now = -1
  let column = 0
  for (let p: usize = 0; p < pieces; p++) {
    const end = load<i32>(ends + (p << 2))
    const piece = load<u8>(classes + p) as i32
    if (piece != MIXED) {
      if (piece != now) {
        change(now, piece, column, row)
        now = piece
      }
      column = end
      continue
    }
    if (column == 0) {
      now = classOf(load<u16>(codes) as i32, lightAbove, middle, darkBelow)
      change(-1, now, 0, row)
      column = 1
    }
    // Eight pixels and their left neighbours at a time: where none differs in class there is nothing to do.
    while (column + 8 <= end) {
      const at = codes + ((<usize>column) << 1)
      const v = v128.load(at)
      const w = v128.load(at - 2)
      const differs = v128.or(
        v128.or(
          v128.xor(i16x8.gt_u(v, light8), i16x8.gt_u(w, light8)),
          v128.xor(i16x8.gt_u(v, middle8), i16x8.gt_u(w, middle8)),
        ),
        v128.xor(i16x8.gt_u(v, dark8), i16x8.gt_u(w, dark8)),
      )
      if (v128.any_true(differs)) {
        let bits = i16x8.bitmask(differs)
        do {
          const k = ctz(bits)
          bits &= bits - 1
          const next = classOf(load<u16>(at + ((<usize>k) << 1)) as i32, lightAbove, middle, darkBelow)
          change(now, next, column + k, row)
          now = next
        } while (bits != 0)
      }
      column += 8
    }
    for (; column < end; column++) {
      const next = classOf(load<u16>(codes + ((<usize>column) << 1)) as i32, lightAbove, middle, darkBelow)
      if (next == now) continue
      change(now, next, column, row)
      now = next
    }
  }
  change(now, -1, width, row)
  for (let kind = LIGHT; kind <= LOWER; kind += KIND_BYTES) endRow(kind, row)
}

/** The class changes from `a` to `b` at a column; -1 stands for what lies beyond the row. */
function change(a: i32, b: i32, column: i32, row: i32): void {
  if (a >= 1) {
    if (b < 1) addRun(LIGHT, column - 1, row)
  } else if (b >= 1) set(LIGHT, FROM, column)
  if (a >= 2) {
    if (b < 2) addRun(UPPER, column - 1, row)
  } else if (b >= 2) set(UPPER, FROM, column)
  const darkWas = a >= 0 && a <= 2
  const darkIs = b >= 0 && b <= 2
  if (darkWas != darkIs) {
    if (darkWas) addRun(DARK, column - 1, row)
    else set(DARK, FROM, column)
  }
  const lowWas = a >= 0 && a <= 1
  const lowIs = b >= 0 && b <= 1
  if (lowWas != lowIs) {
    if (lowWas) addRun(LOWER, column - 1, row)
    else set(LOWER, FROM, column)
  }
}

function root(parents: usize, group: i32): i32 {
  let at = group
  let next = load<i32>(parents + ((<usize>at) << 2))
  while (next != at) {
    at = next
    next = load<i32>(parents + ((<usize>at) << 2))
  }
  return at
}

/** The open run of a kind ends: it joins the groups of the runs above that it touches, or begins one. */
function addRun(kind: usize, right: i32, row: i32): void {
  const left = get(kind, FROM)
  const above = place(kind, ABOVE_AT)
  const aboveCount = get(kind, ABOVE_COUNT)
  const parents = place(kind, PARENTS_AT)
  const sums = place(kind, SUMS_AT)
  const boxes = place(kind, BOXES_AT)
  let next = get(kind, NEXT)
  while (next < aboveCount && load<i32>(above + (<usize>next) * RUN_BYTES, 4) < left - 1) next++
  set(kind, NEXT, next)
  let owner = -1
  for (let k = next; k < aboveCount; k++) {
    const run = above + (<usize>k) * RUN_BYTES
    if (load<i32>(run) > right + 1) break
    const other = root(parents, load<i32>(run, 8))
    if (owner < 0) owner = other
    else if (other != owner) join(kind, owner, other)
  }
  if (owner < 0) {
    const free = get(kind, FREE_COUNT)
    if (free > 0) {
      set(kind, FREE_COUNT, free - 1)
      owner = load<i32>(place(kind, FREE_AT) + ((<usize>(free - 1)) << 2))
    } else {
      owner = get(kind, USED)
      set(kind, USED, owner + 1)
    }
    store<i32>(parents + ((<usize>owner) << 2), owner)
    memory.fill(sums + (<usize>owner) * SUMS_BYTES, 0, SUMS_BYTES)
    const box = boxes + (<usize>owner) * BOX_BYTES
    store<i32>(box, left)
    store<i32>(box, right, 4)
    store<i32>(box, row, 8)
  }
  const n = <f64>(right - left + 1)
  const s = sums + (<usize>owner) * SUMS_BYTES
  const box = boxes + (<usize>owner) * BOX_BYTES
  const middle = (<f64>left + <f64>right) / 2
  const sum = ((<f64>left + <f64>right) * n) / 2
  const r = <f64>row
  store<f64>(s, load<f64>(s) + n)
  store<f64>(s, load<f64>(s, 8) + sum, 8)
  store<f64>(s, load<f64>(s, 16) + r * n, 16)
  // Squares of n numbers about their middle: n (middle^2 + (n^2 - 1) / 12).
  store<f64>(s, load<f64>(s, 24) + n * (middle * middle + (n * n - 1) / 12), 24)
  store<f64>(s, load<f64>(s, 32) + r * r * n, 32)
  store<f64>(s, load<f64>(s, 40) + r * sum, 40)
  if (left < load<i32>(box)) store<i32>(box, left)
  if (right > load<i32>(box, 4)) store<i32>(box, right, 4)
  store<i32>(box, row, 12)
  const count = get(kind, COUNT)
  const run = place(kind, RUNS_AT) + (<usize>count) * RUN_BYTES
  store<i32>(run, left)
  store<i32>(run, right, 4)
  store<i32>(run, owner, 8)
  set(kind, COUNT, count + 1)
}

function join(kind: usize, into: i32, other: i32): void {
  store<i32>(place(kind, PARENTS_AT) + ((<usize>other) << 2), into)
  note(kind, other)
  const sums = place(kind, SUMS_AT)
  const to = sums + (<usize>into) * SUMS_BYTES
  const gone = sums + (<usize>other) * SUMS_BYTES
  for (let k: usize = 0; k < SUMS_BYTES; k += 8) store<f64>(to + k, load<f64>(to + k) + load<f64>(gone + k))
  const boxes = place(kind, BOXES_AT)
  const a = boxes + (<usize>into) * BOX_BYTES
  const b = boxes + (<usize>other) * BOX_BYTES
  store<i32>(a, min(load<i32>(a), load<i32>(b)))
  store<i32>(a, max(load<i32>(a, 4), load<i32>(b, 4)), 4)
  store<i32>(a, min(load<i32>(a, 8), load<i32>(b, 8)), 8)
  store<i32>(a, max(load<i32>(a, 12), load<i32>(b, 12)), 12)
}

/** Notes a group whose place is free once the row has ended. */
function note(kind: usize, group: i32): void {
  const merged = get(kind, MERGED_COUNT)
  store<i32>(place(kind, MERGED_AT) + ((<usize>merged) << 2), group)
  set(kind, MERGED_COUNT, merged + 1)
}

/** Hands out the groups of the row above that did not go on. */
function closeAbove(kind: usize, before: i32): void {
  const above = place(kind, ABOVE_AT)
  const aboveCount = get(kind, ABOVE_COUNT)
  const parents = place(kind, PARENTS_AT)
  const boxes = place(kind, BOXES_AT)
  for (let k = 0; k < aboveCount; k++) {
    const at = root(parents, load<i32>(above + (<usize>k) * RUN_BYTES, 8))
    const box = boxes + (<usize>at) * BOX_BYTES
    const last = load<i32>(box, 12)
    // A closed one stands closed for its further runs.
    if (last >= before || last < 0) continue
    handOut(kind, at, box)
    store<i32>(box, -1, 12)
    note(kind, at)
  }
}

function handOut(kind: usize, at: i32, box: usize): void {
  const left = load<i32>(box)
  const right = load<i32>(box, 4)
  const top = load<i32>(box, 8)
  const bottom = load<i32>(box, 12)
  const longest = load<i32>(LONGEST)
  if (right - left >= longest || bottom - top >= longest) return
  const count = load<i32>(OUT_COUNT)
  const out = place(0, OUT_AT) + (<usize>count) * OUT_BYTES
  memory.copy(out, place(kind, SUMS_AT) + (<usize>at) * SUMS_BYTES, SUMS_BYTES)
  store<i32>(out, left, 48)
  store<i32>(out, top, 52)
  store<i32>(out, right, 56)
  store<i32>(out, bottom, 60)
  store<i32>(out, <i32>((kind - KINDS) / KIND_BYTES), 64)
  store<i32>(OUT_COUNT, count + 1)
}

function endRow(kind: usize, row: i32): void {
  closeAbove(kind, row)
  const parents = place(kind, PARENTS_AT)
  const runs = place(kind, RUNS_AT)
  const count = get(kind, COUNT)
  for (let k = 0; k < count; k++) {
    const run = runs + (<usize>k) * RUN_BYTES
    store<i32>(run, root(parents, load<i32>(run, 8)), 8)
  }
  // Nothing points at what was merged or closed any more.
  const merged = get(kind, MERGED_COUNT)
  const free = get(kind, FREE_COUNT)
  memory.copy(
    place(kind, FREE_AT) + ((<usize>free) << 2),
    place(kind, MERGED_AT),
    (<usize>merged) << 2,
  )
  set(kind, FREE_COUNT, free + merged)
  set(kind, MERGED_COUNT, 0)
  set(kind, RUNS_AT, <i32>place(kind, ABOVE_AT))
  set(kind, ABOVE_AT, <i32>runs)
  set(kind, ABOVE_COUNT, count)
}
