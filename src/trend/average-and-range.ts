import type { AverageAndRange } from '../model/gauge-study.js'
import { meanOf } from './analysis-of-variance.js'
import { rangeConstants } from './range-constants.js'

/**
 * Average-and-range form of a gauge study (AIAG Measurement Systems Analysis, 4th edition, figure III-B 15).
 * K1 = 1/d2 of the repeats, K2 and K3 = 1/sqrt(d2^2 + d3^2) of the operators and of the parts (one range each).
 * It lumps the interaction with the rest, which is why the analysis of variance is the study's own answer.
 * @param values `values[i][j]`: repeats of part i by operator j; balanced, checked by `studyTable`
 * @returns standard deviations in the unit of the values, those of operators null when there is one only; null when
 *   neither ranges nor means of parts or operators differ
 */
export function averageAndRange(values: readonly (readonly (readonly number[])[])[]): AverageAndRange | null {
  const parts = values.length
  const operators = values[0]!.length
  const repeats = values[0]![0]!.length
  const averageRange = meanOf(values.flatMap(row => row.map(rangeOf)))
  const operatorMeans = values[0]!.map((_, j) => meanOf(values.flatMap(row => row[j]!)))
  const partRange = rangeOf(values.map(row => meanOf(row.flat())))
  const operatorDifference = operators > 1 ? rangeOf(operatorMeans) : null
  const equipmentVariation = averageRange / rangeConstants(repeats).d2
  const appraiserVariation =
    operatorDifference === null
      ? null
      : Math.sqrt(
          Math.max(0, (operatorDifference / singleRange(operators)) ** 2 - equipmentVariation ** 2 / (parts * repeats)),
        )
  const gauge = Math.hypot(equipmentVariation, appraiserVariation ?? 0)
  const partVariation = partRange / singleRange(parts)
  const totalVariation = Math.hypot(gauge, partVariation)
  if (!(totalVariation > 0)) return null
  const percent = (deviation: number) => (100 * deviation) / totalVariation
  return {
    averageRange,
    operatorDifference,
    partRange,
    equipmentVariation,
    appraiserVariation,
    gauge,
    partVariation,
    totalVariation,
    percent: {
      equipment: percent(equipmentVariation),
      appraiser: appraiserVariation === null ? null : percent(appraiserVariation),
      gauge: percent(gauge),
      part: percent(partVariation),
    },
    distinctCategories: distinctCategories(partVariation, gauge),
  }
}

/** Largest range a cell should show: D4 times the average range, D4 = 1 + 3 d3/d2. */
export function rangeLimit(averageRange: number, repeats: number): number {
  const { d2, d3 } = rangeConstants(repeats)
  return averageRange * (1 + (3 * d3) / d2)
}

/** Number of distinct categories, sqrt(2) part / gauge, cut to a whole number; null when the gauge shows no scatter. */
export function distinctCategories(part: number, gauge: number): number | null {
  return gauge > 0 ? Math.floor((Math.SQRT2 * part) / gauge) : null
}

export function rangeOf(values: readonly number[]): number {
  return Math.max(...values) - Math.min(...values)
}

/** What a single range is to be divided by: d2* for one sample. */
function singleRange(count: number): number {
  const { d2, d3 } = rangeConstants(count)
  return Math.hypot(d2, d3)
}
