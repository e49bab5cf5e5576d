import { BLOCK_LOOPS } from './block-loops-code.js'
import { compiledLoops } from './compiled-loops.js'

/** The compiled loops of `assembly/block-loops.ts`, described there. Places count bytes from the start of the memory. */
export interface BlockLoops {
  readonly memory: ArrayBuffer
  joinRuns(
    marks: number,
    mark: number,
    columns: number,
    rows: number,
    row: number,
    state: number,
    runs: number,
    room: number,
  ): number
  lighterBlocks(
    labels: number,
    light: number,
    area: number,
    n: number,
    solid: number,
    others: number,
    clear: number,
    open: number,
    levels: number,
    above: number,
    into: number,
  ): number
}

/** @param bytes how much memory the caller lays out; it stays as large */
export function blockLoops(bytes: number): BlockLoops {
  const { memory, exports } = compiledLoops<Omit<BlockLoops, 'memory'>>(BLOCK_LOOPS, bytes)
  return { ...exports, memory }
}
