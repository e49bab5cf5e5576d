import { compiledLoops, reusedMemory } from './compiled-loops.js'
import { LIGHT_LOOPS } from './light-loops-code.js'

/** The compiled loops of `assembly/light-loops.ts`, described there. Places count bytes from the start of the memory. */
export interface LightLoops {
  readonly memory: ArrayBuffer
  greatestLight(light: number, n: number, greatest: number): number
  flatBlocks(least: number, greatest: number, n: number, table: number, within: number, flat: number): void
  countDensities(
    light: number,
    flat: number,
    n: number,
    least: number,
    brightest: number,
    steps: number,
    first: number,
    ends: number,
    bins: number,
    counts: number,
  ): void
  sumLevels(
    light: number,
    flat: number,
    n: number,
    from: number,
    to: number,
    levels: number,
    sums: number,
    counts: number,
  ): void
  labelBlocks(
    light: number,
    flat: number,
    n: number,
    splitOpen: number,
    leastBase: number,
    mostSolid: number,
    darkBelow: number,
    open: number,
    base: number,
    solid: number,
    labels: number,
    film: number,
    dark: number,
  ): void
  clippedBlocks(labels: number, greatest: number, n: number, label: number): number
  innerCells(
    labels: number,
    columns: number,
    rows: number,
    row: number,
    reach: number,
    taking: number,
    state: number,
    step: number,
    into: number,
  ): void
  normalSums(
    terms: number,
    n: number,
    values: number,
    weights: number,
    rows: number,
    sums: number,
    rights: number,
  ): void
  departures(terms: number, n: number, values: number, fitted: number, rows: number, into: number): void
  addSummed(light: number, columns: number, sums: number): void
  meanCells(
    sums: number,
    above: number,
    columns: number,
    perColumn: number,
    cells: number,
    high: number,
    into: number,
  ): void
  surroundAt(
    fields: number,
    count: number,
    column: number,
    row: number,
    keep: number,
    scratch: number,
    span: number,
    into: number,
  ): void
}

/** @param bytes end of what the caller lays out; with a memory of their own */
export function ownLightLoops(bytes: number): LightLoops {
  const { memory, exports } = compiledLoops<Omit<LightLoops, 'memory'>>(LIGHT_LOOPS, bytes)
  return { ...exports, memory }
}

/** As `ownLightLoops`, in the memory that the call before used: what lay there is anybody's. */
export const lightLoops = reusedMemory(ownLightLoops)
