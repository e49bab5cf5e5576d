import { compiledLoops } from './compiled-loops.js'
import { PIXEL_LOOPS } from './pixel-loops-code.js'

/** The compiled loops of `assembly/pixel-loops.ts` with a memory of their own. Places count bytes from its start. */
export interface PixelLoops {
  readonly memory: ArrayBuffer
  /** Adds rows of codes to one row of blocks: sums of light (f64), least and greatest codes (u16). `table`: 65536 f32. */
  addRows(
    codes: number,
    width: number,
    rows: number,
    blockPx: number,
    table: number,
    sums: number,
    least: number,
    greatest: number,
  ): void
  /** Takes one channel of 16-bit samples, one every `samples`; each xor `flip`. */
  takeWide(from: number, samples: number, columns: number, flip: number, into: number): void
  /** The same for samples stored as differences from their left neighbour. */
  sumWide(from: number, samples: number, columns: number, flip: number, into: number): void
  /** TIFF's LZW; `starts`: 4098 u32. Up to seven bytes past `wanted` may be written. Bytes made, or -1. */
  unpackLzw(packed: number, length: number, into: number, wanted: number, starts: number): number
  /** Sums of a turned rectangle: by sample along either side in strips, and by tile. `frame`: 13 f64; `sums`: pairs of f64. See the source. */
  addTurned(
    codes: number,
    from: number,
    to: number,
    table: number,
    frame: number,
    strips: number,
    samplesS: number,
    samplesT: number,
    across: number,
    down: number,
    parity: number,
    sums: number,
  ): void
}

/**
 * The loops over every pixel.
 * They win by measurement: 0.8 ns a pixel for sums and extremes of blocks where the same loop in JavaScript takes 4.3.
 * @param bytes how much memory the caller lays out; it stays as large
 */
export function pixelLoops(bytes: number): PixelLoops {
  const { memory, exports } = compiledLoops<Omit<PixelLoops, 'memory'>>(PIXEL_LOOPS, bytes)
  return { ...exports, memory }
}
