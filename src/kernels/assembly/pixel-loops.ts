// The loops that touch every pixel of a page, in AssemblyScript, compiled by `npm run kernels` to ../pixel-loops-code.ts.
// Every argument that is a place counts bytes from the start of the memory; the caller lays the memory out.

/** Least or greatest of all eight lanes, in lane 0. */
// @ts-expect-error: decorator
@inline
function leastLane(v: v128): i32 {
  v = i16x8.min_u(v, v128.shuffle<u16>(v, v, 4, 5, 6, 7, 0, 1, 2, 3))
  v = i16x8.min_u(v, v128.shuffle<u16>(v, v, 2, 3, 0, 1, 6, 7, 4, 5))
  v = i16x8.min_u(v, v128.shuffle<u16>(v, v, 1, 0, 3, 2, 5, 4, 7, 6))
  return i16x8.extract_lane_u(v, 0)
}

// @ts-expect-error: decorator
@inline
function greatestLane(v: v128): i32 {
  v = i16x8.max_u(v, v128.shuffle<u16>(v, v, 4, 5, 6, 7, 0, 1, 2, 3))
  v = i16x8.max_u(v, v128.shuffle<u16>(v, v, 2, 3, 0, 1, 6, 7, 4, 5))
  v = i16x8.max_u(v, v128.shuffle<u16>(v, v, 1, 0, 3, 2, 5, 4, 7, 6))
  return i16x8.extract_lane_u(v, 0)
}

// @ts-expect-error: decorator
@inline
function lightOf(table: usize, code: u32): f64 {
  return load<f32>(table + (code << 2)) as f64
}

/**
 * Adds rows of codes to the blocks of one row of blocks: sums of light (f64), least and greatest codes (u16).
 * Eight pixels at a time; what is left of a block one by one. Sums have four partial sums, joined at the end.
 */
export function addRows(
  codes: usize,
  width: i32,
  rows: i32,
  blockPx: i32,
  table: usize,
  sums: usize,
  least: usize,
  greatest: usize,
): void {
  const stride: usize = (<usize>width) << 1
  let block: usize = 0
  for (let column = 0; column < width; column += blockPx, block++) {
    const pixels = min(blockPx, width - column)
    const eights = pixels >> 3
    let at = codes + ((<usize>column) << 1)
    const lowAt = least + (block << 1)
    const highAt = greatest + (block << 1)
    let low = load<u16>(lowAt) as i32
    let high = load<u16>(highAt) as i32
    let lows = i16x8.splat(<i16>low)
    let highs = i16x8.splat(<i16>high)
    let s0: f64 = 0
    let s1: f64 = 0
    let s2: f64 = 0
    let s3: f64 = 0
    for (let r = 0; r < rows; r++) {
      let p = at
      for (let k = 0; k < eights; k++) {
        const v = v128.load(p)
        lows = i16x8.min_u(lows, v)
        highs = i16x8.max_u(highs, v)
        const a = load<u64>(p)
        const b = load<u64>(p, 8)
        s0 += lightOf(table, <u32>a & 0xffff)
        s1 += lightOf(table, <u32>a >>> 16)
        s2 += lightOf(table, <u32>(a >> 32) & 0xffff)
        s3 += lightOf(table, <u32>(a >> 48))
        s0 += lightOf(table, <u32>b & 0xffff)
        s1 += lightOf(table, <u32>b >>> 16)
        s2 += lightOf(table, <u32>(b >> 32) & 0xffff)
        s3 += lightOf(table, <u32>(b >> 48))
        p += 16
      }
      const end = at + ((<usize>pixels) << 1)
      while (p < end) {
        const code = load<u16>(p) as i32
        low = min(low, code)
        high = max(high, code)
        s0 += lightOf(table, code)
        p += 2
      }
      at += stride
    }
    store<f64>(sums + (block << 3), load<f64>(sums + (block << 3)) + (s0 + s1 + (s2 + s3)))
    store<u16>(lowAt, <u16>min(low, leastLane(lows)))
    store<u16>(highAt, <u16>max(high, greatestLane(highs)))
  }
}

/**
 * Takes one channel of 16-bit samples out of a row: `columns` codes, one every `samples` samples from `from`.
 * @param flip 0xffff where white is stored as 0, else 0
 */
export function takeWide(from: usize, samples: i32, columns: i32, flip: i32, into: usize): void {
  const step: usize = (<usize>samples) << 1
  const end = into + ((<usize>columns) << 1)
  while (into < end) {
    store<u16>(into, <u16>((load<u16>(from) as i32) ^ flip))
    from += step
    into += 2
  }
}

/** The same for samples stored as the difference from their left neighbour; `sum` is what stands before the first. */
export function sumWide(from: usize, samples: i32, columns: i32, flip: i32, into: usize): void {
  const step: usize = (<usize>samples) << 1
  const end = into + ((<usize>columns) << 1)
  let sum = 0
  while (into < end) {
    sum += load<u16>(from) as i32
    store<u16>(into, <u16>(sum ^ flip))
    from += step
    into += 2
  }
}

/**
 * TIFF's LZW (TIFF 6.0, section 13: high bit first, code width grows one code early).
 * The table holds, for each code, where in the output its string begins; every code read defines one: the string
 * written before it and the byte that follows, so it ends one byte after the next one's beginning.
 * Up to seven bytes past `wanted` may be written.
 * @param starts room for 4098 u32
 * @returns bytes made, at most `wanted`; fewer when the data ends early; -1 when it cannot be LZW
 */
export function unpackLzw(packed: usize, length: i32, into: usize, wanted: i32, starts: usize): i32 {
  let at = packed
  const last = packed + length
  let bits: u64 = 0
  let held: i32 = 0
  let width: i32 = 9
  // The code that the next code read defines; 257 straight after a clear, when it defines none.
  let free: u32 = 257
  const end = into + wanted
  let made = into
  while (made < end) {
    if (held < width) {
      if (at + 4 <= last) {
        bits = (bits << 32) | (bswap<u32>(load<u32>(at)) as u64)
        at += 4
        held += 32
      } else {
        while (held < width && at < last) {
          bits = (bits << 8) | (load<u8>(at) as u64)
          at++
          held += 8
        }
        if (held < width) return <i32>(made - into)
      }
    }
    held -= width
    const code = (<u32>(bits >> held)) & ((1 << width) - 1)
    if (code < 256) {
      store<u32>(starts + ((free + 1) << 2), <u32>made)
      store<u8>(made, <u8>code)
      made++
    } else if (code > 257) {
      if (code > free) return -1
      store<u32>(starts + ((free + 1) << 2), <u32>made)
      // The code just being defined is allowed: its last byte is the first one copied here.
      let from: usize = load<u32>(starts + (code << 2))
      const size: usize = (<usize>load<u32>(starts + ((code + 1) << 2))) - from + 1
      let stop = made + size
      if (stop > end) stop = end
      if (made - from >= 8) {
        // Eight at a time may write past the string: what comes next is written over it.
        do {
          store<u64>(made, load<u64>(from))
          made += 8
          from += 8
        } while (made < stop)
        made = stop
      } else {
        do {
          store<u8>(made, load<u8>(from))
          made++
          from++
        } while (made < stop)
      }
    } else if (code == 256) {
      width = 9
      free = 257
      continue
    } else return <i32>(made - into)
    if (free < 4096) {
      free++
      if (free == (1 << width) - 1 && width < 12) width++
    }
  }
  return wanted
}

/**
 * Adds pixels of one row to the sums of a rectangle turned on the scan: by place along its first and along its second side, strip by strip,
 * and by tile, every other pixel apart.
 * @param frame f64: pixel's length and place of column 0 from the middle; cosine and sine of the turn; of the row what y adds to s and t; half sides;
 * samples, strips and tiles a length, along s and t each
 * @param sums f64 pairs of sum and count: strips x samples along s, the same along t, tiles down x across x 2
 */
export function addTurned(
  codes: usize,
  from: i32,
  to: i32,
  table: usize,
  frame: usize,
  strips: i32,
  samplesS: i32,
  samplesT: i32,
  across: i32,
  down: i32,
  parity: i32,
  sums: usize,
): void {
  const pixel = load<f64>(frame)
  const origin = load<f64>(frame, 8)
  const cos = load<f64>(frame, 16)
  const sin = load<f64>(frame, 24)
  const rowS = load<f64>(frame, 32)
  const rowT = load<f64>(frame, 40)
  const halfS = load<f64>(frame, 48)
  const halfT = load<f64>(frame, 56)
  const perSampleS = load<f64>(frame, 64)
  const perSampleT = load<f64>(frame, 72)
  const perStripS = load<f64>(frame, 80)
  const perStripT = load<f64>(frame, 88)
  const perTile = load<f64>(frame, 96)
  const alongT = sums + ((<usize>(strips * samplesS)) << 4)
  const tiles = alongT + ((<usize>(strips * samplesT)) << 4)
  // Neighbours of a row mostly fall into the same place along t, the same strips and the same tile: these are told anew, and what was added for
  // them put down, only where s or t leaves the interval they hold for.
  const sampleT = 1 / perSampleT
  const widthS = 1 / perStripS
  const widthT = 1 / perStripT
  const side = 1 / perTile
  let sLow: f64 = 0
  let sHigh: f64 = -1
  let tLow: f64 = 0
  let tHigh: f64 = -1
  let ti = 0
  let stripS = 0
  let stripT: usize = 0
  let tc = 0
  let tr = 0
  let two: usize = 0
  let tile: usize = 0
  let light2: f64 = 0
  let count2: f64 = 0
  let evenLight: f64 = 0
  let evens: f64 = 0
  let oddLight: f64 = 0
  let odds: f64 = 0
  for (let column = from; column < to; column++) {
    const x = <f64>column * pixel - origin
    const s = x * cos + rowS + halfS
    const t = -x * sin + rowT + halfT
    if (s < 0 || t < 0) continue
    const si = <i32>(s * perSampleS)
    if (si >= samplesS) continue
    if (!(t >= tLow && t < tHigh && s >= sLow && s < sHigh)) {
      if (count2 > 0) addPair(two, light2, count2)
      if (evens > 0) addPair(tile, evenLight, evens)
      if (odds > 0) addPair(tile + 16, oddLight, odds)
      light2 = count2 = evenLight = evens = oddLight = odds = 0
      ti = <i32>(t * perSampleT)
      if (ti >= samplesT) {
        tHigh = -1
        continue
      }
      stripS = min(strips - 1, <i32>(s * perStripS))
      const ofT = min(strips - 1, <i32>(t * perStripT))
      tc = <i32>(s * perTile)
      tr = <i32>(t * perTile)
      // The last strip takes what rounding leaves beyond it.
      sLow = max(<f64>stripS * widthS, <f64>tc * side)
      sHigh = min(stripS == strips - 1 ? Infinity : <f64>(stripS + 1) * widthS, <f64>(tc + 1) * side)
      tLow = max(max(<f64>ti * sampleT, <f64>ofT * widthT), <f64>tr * side)
      tHigh = min(min(<f64>(ti + 1) * sampleT, ofT == strips - 1 ? Infinity : <f64>(ofT + 1) * widthT), <f64>(tr + 1) * side)
      stripT = sums + ((<usize>(ofT * samplesS)) << 4)
      two = alongT + ((<usize>(stripS * samplesT + ti)) << 4)
      tile = tc >= across || tr >= down ? 0 : tiles + ((<usize>(tr * across + tc)) << 5)
    }
    const light = lightOf(table, load<u16>(codes + ((<usize>(column - from)) << 1)) as u32)
    addPair(stripT + ((<usize>si) << 4), light, 1)
    light2 += light
    count2 += 1
    if (tile == 0) continue
    if ((parity + column) & 1) {
      oddLight += light
      odds += 1
    } else {
      evenLight += light
      evens += 1
    }
  }
  if (count2 > 0) addPair(two, light2, count2)
  if (evens > 0) addPair(tile, evenLight, evens)
  if (odds > 0) addPair(tile + 16, oddLight, odds)
}

// @ts-expect-error: decorator
@inline
function addPair(pair: usize, light: f64, count: f64): void {
  store<f64>(pair, load<f64>(pair) + light)
  store<f64>(pair, load<f64>(pair, 8) + count, 8)
}
