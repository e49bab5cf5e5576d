import { type PixelLoops, pixelLoops } from '../kernels/pixel-loops.js'

/** Places of the strings of all 4096 codes, and two more (`assembly/pixel-loops.ts`). */
const STARTS_BYTES = 4 * 4098
/** The loop may write so many bytes past what is wanted. */
const SLACK_BYTES = 8

/** Room for the largest strip so far. Shared: decoding is synchronous. */
let room: { readonly loops: PixelLoops; readonly packed: number; readonly wanted: number } | null = null

/**
 * Unpacks TIFF's LZW (TIFF 6.0, section 13: high bit first, code width grows one code early) into `into`, by the compiled loop:
 * 14 ns a pixel of noisy film, where the same in JavaScript took 25.
 * @returns bytes made, at most `wanted`; fewer when the data ends early; -1 when it cannot be LZW
 */
export function decodeLzw(packed: Uint8Array, into: Uint8Array, wanted: number): number {
  if (room === null || room.packed < packed.length || room.wanted < wanted) {
    const most = { packed: Math.max(packed.length, room?.packed ?? 0), wanted: Math.max(wanted, room?.wanted ?? 0) }
    room = { loops: pixelLoops(STARTS_BYTES + most.packed + most.wanted + SLACK_BYTES), ...most }
  }
  const { loops } = room
  const packedAt = STARTS_BYTES
  const intoAt = packedAt + room.packed
  new Uint8Array(loops.memory, packedAt, packed.length).set(packed)
  const made = loops.unpackLzw(packedAt, packed.length, intoAt, wanted, 0)
  if (made > 0) into.set(new Uint8Array(loops.memory, intoAt, made))
  return made
}
