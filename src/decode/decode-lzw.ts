const CLEAR = 256
const END = 257

/**
 * Where in the output the string of each code begins. Every code read defines one: the string written before it
 * and the byte that follows, so it ends one byte after the next one's beginning. Shared: decoding is synchronous.
 */
const startOf = new Int32Array(4098)

/**
 * Unpacks TIFF's LZW (TIFF 6.0, section 13: high bit first, code width grows one code early) into `into`.
 * The table holds places in the output instead of strings, so nothing is allocated or joined.
 * @returns bytes made, at most `wanted`; fewer when the data ends early; -1 when it cannot be LZW
 */
export function decodeLzw(packed: Uint8Array, into: Uint8Array, wanted: number): number {
  const length = packed.length
  const starts = startOf
  let at = 0
  let bits = 0
  let held = 0
  let width = 9
  // The code that the next code read defines; 257 straight after a clear, when it defines none.
  let free = 257
  let made = 0
  while (made < wanted) {
    if (held < width) {
      // Two bytes at once; the very last may come alone.
      if (at + 1 < length) {
        bits = (bits << 16) | (packed[at]! << 8) | packed[at + 1]!
        at += 2
        held += 16
      } else if (at < length && held + 8 >= width) {
        bits = (bits << 8) | packed[at++]!
        held += 8
      } else return made
    }
    held -= width
    const code = (bits >>> held) & ((1 << width) - 1)
    if (code < 256) {
      starts[free + 1] = made
      into[made++] = code
    } else if (code > END) {
      if (code > free) return -1
      starts[free + 1] = made
      // The code just being defined is allowed: its last byte is the first one copied here.
      let from = starts[code]!
      let end = made + starts[code + 1]! - from + 1
      if (end > wanted) end = wanted
      do into[made++] = into[from++]!
      while (made < end)
    } else if (code === CLEAR) {
      width = 9
      free = 257
      continue
    } else return made
    if (free < 4096) {
      free++
      if (free === (1 << width) - 1 && width < 12) width++
    }
  }
  return made
}
