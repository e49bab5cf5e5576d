import { compiledLoops, reusedMemory } from './compiled-loops.js'
import { PLACE_LOOPS } from './place-loops-code.js'

/** The compiled loops of `assembly/place-loops.ts`, described there. Places count bytes from the start of the memory. */
export interface PlaceLoops {
  readonly memory: ArrayBuffer
  fullRows(
    marks: number,
    mark: number,
    columns: number,
    rows: number,
    width: number,
    height: number,
    below: number,
    fits: number,
  ): void
  lightestWindows(
    runs: number,
    count: number,
    row: number,
    fits: number,
    light: number,
    columns: number,
    inset: number,
    wide: number,
    high: number,
    counts: number,
    firsts: number,
    lightests: number,
    lights: number,
  ): void
  everyWindow(
    runs: number,
    count: number,
    row: number,
    fits: number,
    columns: number,
    ranks: number,
    steps: number,
    met: number,
    ends: number,
    into: number,
  ): void
  lastRows(labels: number, columns: number, row: number, one: number, other: number, last: number): void
  freeWindows(
    fits: number,
    columns: number,
    width: number,
    rim: number,
    top: number,
    last: number,
    into: number,
  ): number
  rowMeetings(
    labels: number,
    columns: number,
    rows: number,
    row: number,
    dark: number,
    clear: number,
    least: number,
    gap: number,
    into: number,
  ): number
  columnMeetings(
    labels: number,
    columns: number,
    rows: number,
    row: number,
    dark: number,
    clear: number,
    least: number,
    gap: number,
    state: number,
    into: number,
    room: number,
    taken: number,
  ): number
  endColumns(
    columns: number,
    rows: number,
    dark: number,
    clear: number,
    least: number,
    gap: number,
    state: number,
    into: number,
  ): number
  linkChains(
    places: number,
    lines: number,
    sides: number,
    count: number,
    reach: number,
    before: number,
    lengths: number,
    open: number,
    next: number,
    ends: number,
  ): number
  nearestPlace(columns: number, rows: number, n: number, column: number, row: number): number
  farthestPlace(columns: number, rows: number, n: number, taken: number, nearest: number): number
  darkBlocks(light: number, n: number, below: number, marks: number): void
  closeCuts(marks: number, columns: number, n: number): void
  markTurned(
    labels: number,
    columns: number,
    rows: number,
    label: number,
    x: number,
    stepX: number,
    y: number,
    stepY: number,
    cells: number,
    mask: number,
  ): void
  largestRectangle(
    mask: number,
    columns: number,
    rows: number,
    least: number,
    heights: number,
    stack: number,
    best: number,
  ): number
}

/** The loops in the memory that the call before used: what lay there is anybody's. @param bytes end of what the caller lays out */
export const placeLoops = reusedMemory((bytes: number): PlaceLoops => {
  const { memory, exports } = compiledLoops<Omit<PlaceLoops, 'memory'>>(PLACE_LOOPS, bytes)
  return { ...exports, memory }
})
