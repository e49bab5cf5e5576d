import type { LadderPlan } from '../model/ladder.js'

/** Film kept free along every side of a sheet: rollers hold it there, and scanners see it worst. Common practice, no source. */
export const SHEET_RIM_MM = 8
/** Clear film between steps: ink that runs must not reach the next. */
const GAP_MM = 3

/** Where steps stand on a sheet. */
export interface SheetPlaces {
  /** Steps lie along the feed instead of across the head. */
  readonly turned: boolean
  /** Corners of the steps from the sheet's corner, mm: u across the head, v along the feed. */
  readonly places: readonly { readonly u: number; readonly v: number }[]
}

/**
 * As many places for steps as the sheet has inside its rim and below its head of words, laid the way that holds more; none
 * where the sheet is too small.
 * @param step size of a step as it lies across the head
 * @param headMm room for words at the top
 */
export function sheetPlaces(
  { paper }: Pick<LadderPlan, 'paper'>,
  step: { readonly widthMm: number; readonly heightMm: number },
  headMm: number,
): SheetPlaces {
  const laid = (width: number, height: number) => {
    const columns = Math.floor((paper.widthMm - 2 * SHEET_RIM_MM + GAP_MM) / (width + GAP_MM))
    const rows = Math.floor((paper.heightMm - 2 * SHEET_RIM_MM - headMm + GAP_MM) / (height + GAP_MM))
    return Array.from({ length: Math.max(0, columns) * Math.max(0, rows) }, (_, i) => ({
      u: SHEET_RIM_MM + (i % columns) * (width + GAP_MM),
      v: SHEET_RIM_MM + headMm + Math.floor(i / columns) * (height + GAP_MM),
    }))
  }
  const across = laid(step.widthMm, step.heightMm)
  const along = laid(step.heightMm, step.widthMm)
  return along.length > across.length ? { turned: true, places: along } : { turned: false, places: across }
}
