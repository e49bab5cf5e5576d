import type { LadderPlan } from '../model/ladder.js'

/** Film kept free along every side of a sheet: rollers hold it there, and scanners see it worst. Common practice, no source. */
const RIM_MM = 8

/** How many steps of a size stand on one sheet of the plan's film, turned as the plan lays them; at least 1. */
export function stepsASheet(
  { paper }: Pick<LadderPlan, 'paper'>,
  step: { readonly widthMm: number; readonly heightMm: number },
): number {
  const many = (room: number, size: number) => Math.max(0, Math.floor((room - 2 * RIM_MM) / size))
  return Math.max(1, many(paper.widthMm, step.widthMm) * many(paper.heightMm, step.heightMm))
}
