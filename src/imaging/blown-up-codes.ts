/** Fewer different codes than this are too few to tell a driver's habit from chance: a drawing, not a scan. */
const FEWEST_CODES = 8

/**
 * Whether codes of 16 bits only hold 8: all are multiples of 256 (the byte shifted up) or of 257 (the byte repeated, so that white stays
 * white). One code that is neither clears all.
 * @param codes 0..65535, any sample of a scan that has its noise
 */
export function blownUpCodes(codes: Uint16Array): boolean {
  const seen = new Set<number>()
  let shifted = true
  let repeated = true
  for (let i = 0; i < codes.length; i++) {
    const code = codes[i]!
    shifted &&= code % 256 === 0
    repeated &&= code % 257 === 0
    if (!shifted && !repeated) return false
    if (seen.size < FEWEST_CODES) seen.add(code)
  }
  return seen.size >= FEWEST_CODES
}
