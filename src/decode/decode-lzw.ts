const CLEAR = 256
const END = 257
const FIRST_FREE = 258

/** Where in the output the string of each code stands, and how long it is. Codes below 256 are single bytes. */
const startOf = new Int32Array(4097)
const lengthOf = new Int32Array(4097)

/**
 * Unpacks TIFF's LZW (TIFF 6.0, section 13: high bit first, code width grows one code early) into `into`.
 * A code's string is always somewhere in the output already: the previous string and the byte after it. So the table
 * holds places instead of strings, and nothing is allocated.
 * @returns bytes made, at most `wanted`; fewer when the data ends early; -1 when it cannot be LZW
 */
export function decodeLzw(packed: Uint8Array, into: Uint8Array, wanted: number): number {
  const length = packed.length
  let at = 0
  let bits = 0
  let held = 0
  let width = 9
  let free = FIRST_FREE
  // The string written last; -1 straight after a clear code.
  let before = -1
  let beforeLength = 0
  let made = 0
  while (made < wanted) {
    while (held < width) {
      if (at >= length) return made
      bits = (bits << 8) | packed[at++]!
      held += 8
    }
    held -= width
    const code = (bits >>> held) & ((1 << width) - 1)
    // Keeps `bits` below 2^12 before the next bytes come in.
    bits &= (1 << held) - 1
    if (code === CLEAR) {
      width = 9
      free = FIRST_FREE
      before = -1
      continue
    }
    if (code === END) return made
    const start = made
    let run = 1
    if (code < 256) {
      into[made++] = code
    } else {
      // The code about to be defined is allowed: it is the previous string and its own first byte.
      if (before < 0 || code > free || (code === free && free > 4095)) return -1
      let from: number
      if (code === free) {
        from = before
        run = beforeLength + 1
      } else {
        from = startOf[code]!
        run = lengthOf[code]!
      }
      let end = made + run
      if (end > wanted) end = wanted
      // Byte by byte: source and target may overlap, and runs are short.
      while (made < end) into[made++] = into[from++]!
    }
    if (before >= 0) {
      if (free < 4096) {
        startOf[free] = before
        lengthOf[free] = beforeLength + 1
        free++
        if (free === (1 << width) - 1 && width < 12) width++
      }
    }
    before = start
    beforeLength = run
  }
  return made
}
