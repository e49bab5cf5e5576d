/**
 * Unpacks PackBits data (TIFF 6.0, section 9) into `into`, at most `wanted` bytes.
 * @returns bytes made; fewer than `wanted` when the data ends early
 */
export function decodePackBits(packed: Uint8Array, into: Uint8Array, wanted: number): number {
  let at = 0
  let made = 0
  while (made < wanted && at < packed.length) {
    const head = packed[at++]!
    if (head < 128) {
      const run = Math.min(head + 1, packed.length - at, wanted - made)
      into.set(packed.subarray(at, at + run), made)
      at += head + 1
      made += run
    } else if (head > 128) {
      if (at >= packed.length) break
      const run = Math.min(257 - head, wanted - made)
      into.fill(packed[at++]!, made, made + run)
      made += run
    }
  }
  return made
}
