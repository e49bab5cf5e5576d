import type { LadderKnee, LadderStep } from '../model/ladder.js'
import type { LimitName } from '../model/reading.js'

/** What ink does once it no longer darkens, most telling first: strokes thicken, then edges soften. */
const GROWING: readonly LimitName[] = ['lineGain', 'inkSpread', 'riseWidth', 'fringeWidth']

/**
 * What still grows beyond the knee, per level: the slope of a weighted line through the last level before the knee and all after it.
 * Null when nothing grows by more than the U of its slope, or fewer than three levels tell.
 * The errors of neighbouring levels are mostly common and cancel, so U is rather too large.
 */
export function growthBeyond(
  line: readonly LadderStep[],
  knee: number,
): Extract<LadderKnee, { kind: 'found' }>['grows'] {
  const sorted = [...line].sort((a, b) => a.level - b.level)
  const before = sorted.filter(step => step.level <= knee).at(-1)?.level ?? Number.NEGATIVE_INFINITY
  for (const reading of GROWING) {
    const points = sorted.flatMap(step => {
      const found = step.readings[reading]
      return step.level >= before && found !== undefined && found.bound === null && found.expanded > 0
        ? [{ x: step.level, y: found.value, w: 4 / found.expanded ** 2 }]
        : []
    })
    if (points.length < 3) continue
    const sum = points.reduce((total, { w }) => total + w, 0)
    const x = points.reduce((total, p) => total + p.w * p.x, 0) / sum
    const y = points.reduce((total, p) => total + p.w * p.y, 0) / sum
    const square = points.reduce((total, p) => total + p.w * (p.x - x) ** 2, 0)
    const perLevel = points.reduce((total, p) => total + p.w * (p.x - x) * (p.y - y), 0) / square
    const expanded = 2 / Math.sqrt(square)
    if (perLevel > expanded) return { reading, perLevel, expanded }
  }
  return null
}
