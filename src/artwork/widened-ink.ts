import { pageBytes } from '../imaging/page-room.js'
import type { ArtworkBitmap } from '../model/artwork.js'

type Bits = Pick<ArtworkBitmap, 'width' | 'height' | 'rowBytes' | 'bits'>

/** Ink with all within `across` pixels to either side and `along` pixels above and below: a box of 2 across + 1 by 2 along + 1. */
export function widenedInk(artwork: Bits, across: number, along: number): Uint8Array {
  const bits = pageBytes(artwork.bits.length)
  bits.set(artwork.bits)
  widen(bits, artwork, across, along)
  return bits
}

/** Ink that stays when its rim of `across` and `along` pixels is taken off; beyond the artwork's frame there is none. */
export function thinnedInk(artwork: Bits, across: number, along: number): Uint8Array {
  const bits = pageBytes(artwork.bits.length)
  for (let i = 0; i < bits.length; i++) bits[i] = ~artwork.bits[i]! & 0xff
  widen(bits, artwork, across, along)
  const { height, rowBytes, width } = artwork
  for (let i = 0; i < bits.length; i++) bits[i] = ~bits[i]! & 0xff
  // Spare bits of the last byte are no ink, and the frame itself ends the ink.
  for (let r = 0; r < height; r++) {
    const spare = 8 * rowBytes - width
    if (spare > 0) bits[r * rowBytes + rowBytes - 1]! &= 0xff << spare
    if (r < along || r >= height - along) bits.fill(0, r * rowBytes, (r + 1) * rowBytes)
    for (let k = 0; k < Math.min(across, width); k++) {
      clear(bits, r * rowBytes, k)
      clear(bits, r * rowBytes, width - 1 - k)
    }
  }
  return bits
}

function clear(bits: Uint8Array, row: number, column: number): void {
  bits[row + (column >> 3)]! &= ~(0x80 >> (column & 7))
}

/** Both ways by doubling: what lies within 1, 3, 7 ... pixels before, then all moved back to the middle. */
function widen(bits: Uint8Array, { height, rowBytes }: Bits, across: number, along: number): void {
  const line = new Uint8Array(rowBytes)
  for (let r = 0; r < height; r++) {
    const row = bits.subarray(r * rowBytes, (r + 1) * rowBytes)
    const firstInk = across > 0 ? firstOf(row) : -1
    for (const step of doublings(2 * across)) {
      line.set(row)
      orLater(row, line, step)
    }
    if (across > 0) {
      line.set(row)
      row.fill(0)
      // Pixel c now tells of c to c + 2 across: it belongs to c + across.
      orEarlier(row, line, across)
      // Nothing was moved to the first ones: they see the first ink if it is near enough.
      for (let k = Math.max(0, firstInk - across); firstInk >= 0 && k < Math.min(across, 8 * rowBytes); k++)
        row[k >> 3]! |= 0x80 >> (k & 7)
    }
  }
  const tops = firstRows(bits, height, rowBytes, along)
  for (const step of doublings(2 * along))
    for (let r = 0; r + step < height; r++)
      for (let i = r * rowBytes; i < (r + 1) * rowBytes; i++) bits[i]! |= bits[i + step * rowBytes]!
  if (along > 0) {
    bits.copyWithin(Math.min(along, height) * rowBytes, 0, Math.max(0, height - along) * rowBytes)
    for (let r = 0; r < Math.min(along, height); r++) bits.set(tops[r]!, r * rowBytes)
  }
}

/** First pixel that is set; -1: none. */
function firstOf(row: Uint8Array): number {
  const byte = row.findIndex(value => value !== 0)
  return byte < 0 ? -1 : 8 * byte + Math.clz32(row[byte]!) - 24
}

/** What the first `along` rows see of themselves and of as many below: all rows from the first on. */
function firstRows(bits: Uint8Array, height: number, rowBytes: number, along: number): Uint8Array[] {
  const seen = new Uint8Array(rowBytes)
  const rows: Uint8Array[] = []
  for (let r = 0; r < 2 * along; r++) {
    if (r < height) for (let i = 0; i < rowBytes; i++) seen[i]! |= bits[r * rowBytes + i]!
    if (r >= along) rows.push(Uint8Array.from(seen))
  }
  return rows
}

/** Steps by which a reach of `total` is built: 1, 2, 4 ... and what is left. */
function doublings(total: number): number[] {
  const steps: number[] = []
  let reach = 0
  while (reach < total) {
    const step = Math.min(reach + 1, total - reach)
    steps.push(step)
    reach += step
  }
  return steps
}

/** row |= line moved to the left by `step` pixels. */
function orLater(row: Uint8Array, line: Uint8Array, step: number): void {
  const bytes = step >> 3
  const shift = step & 7
  for (let i = 0; i + bytes < line.length; i++) {
    const high = line[i + bytes]!
    const low = i + bytes + 1 < line.length ? line[i + bytes + 1]! : 0
    row[i]! |= ((high << shift) | (low >> (8 - shift))) & 0xff
  }
}

/** row |= line moved to the right by `step` pixels. */
function orEarlier(row: Uint8Array, line: Uint8Array, step: number): void {
  const bytes = step >> 3
  const shift = step & 7
  for (let i = line.length - 1; i >= bytes; i--) {
    const low = line[i - bytes]!
    const high = i - bytes - 1 >= 0 ? line[i - bytes - 1]! : 0
    row[i]! |= ((low >> shift) | (high << (8 - shift))) & 0xff
  }
}
