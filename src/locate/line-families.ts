/** A thin straight line: its middle, um, its direction, radians, its length and width, um. */
export interface PlainLine {
  readonly x: number
  readonly y: number
  readonly angle: number
  readonly length: number
  readonly width: number
}

/** Lines of a family are parallel within this, radians, as wide within this ratio, and at most so far apart, um: passes of a head lie farther. */
const PARALLEL = (2.5 * Math.PI) / 180
const LIKE_WIDTH = 1.6
/** A screen of lines that runs from light to dark widens them from one to the next. */
const SCREEN_WIDTHS = 3
const FARTHEST = 2500
/** Gaps of a family are equal within this share. */
const EVEN_GAPS = 0.15

/**
 * Which lines are one of at least three that lie side by side at equal distances: a screen of lines, a hatch, a rule of several lines. Scratches
 * lie as chance has it.
 * @param others lines that may be of their family, but of which it is not asked
 */
export function inFamilies(lines: readonly PlainLine[], others: readonly PlainLine[] = []): boolean[] {
  const all = [...lines, ...others]
  return lines.map(line => {
    const cos = Math.cos(line.angle)
    const sin = Math.sin(line.angle)
    const gaps: number[] = []
    for (const [k, other] of all.entries()) {
      if (other === line) continue
      const turn = Math.abs(Math.sin(other.angle - line.angle))
      const [thin, thick] = line.width < other.width ? [line.width, other.width] : [other.width, line.width]
      const along = Math.abs((other.x - line.x) * cos + (other.y - line.y) * sin)
      const aside = (other.y - line.y) * cos - (other.x - line.x) * sin
      if (
        turn > Math.sin(PARALLEL) ||
        thick > (k < lines.length ? LIKE_WIDTH : SCREEN_WIDTHS) * thin ||
        Math.abs(aside) > FARTHEST
      )
        continue
      if (along <= (line.length + other.length) / 2 && Math.abs(aside) > line.width) gaps.push(aside)
    }
    return gaps.some(gap =>
      gaps.some(
        other =>
          Math.abs(other - 2 * gap) <= EVEN_GAPS * Math.abs(gap) || Math.abs(other + gap) <= EVEN_GAPS * Math.abs(gap),
      ),
    )
  })
}
