import type { Disc, Dots, Rectangle, Shape } from './film.js'

/** A solid with straight edges on the print axes. */
export function solid(u: number, v: number, width: number, height: number, ink = 1): Rectangle {
  return { kind: 'rectangle', u, v, width, height, ink }
}

/** A frame of four strokes that touch but do not overlap. */
export function frame(u: number, v: number, width: number, height: number, stroke: number): Rectangle[] {
  return [
    solid(u, v, width, stroke),
    solid(u, v + height - stroke, width, stroke),
    solid(u, v + stroke, stroke, height - 2 * stroke),
    solid(u + width - stroke, v + stroke, stroke, height - 2 * stroke),
  ]
}

/** A ring: a disc less a disc. */
export function ring(u: number, v: number, outer: number, stroke: number): Disc[] {
  return [
    { kind: 'disc', u, v, radius: outer },
    { kind: 'disc', u, v, radius: outer - stroke, ink: -1 },
  ]
}

/** Register mark: hair-line cross through a ring. */
export function registerMark(u: number, v: number, radius: number, line: number): Shape[] {
  const arm = radius * 1.7
  // The ring first: its inner disc takes ink away, and the cross runs through it.
  return [
    ...ring(u, v, radius, line),
    solid(u - arm, v - line / 2, 2 * arm, line),
    solid(u - line / 2, v - arm, line, arm - line / 2),
    solid(u - line / 2, v + line / 2, line, arm - line / 2),
  ]
}

/** Hair-lines of given widths side by side, `gap` apart, running along v. */
export function hairLines(u: number, v: number, length: number, widths: readonly number[], gap: number): Rectangle[] {
  const lines: Rectangle[] = []
  let at = u
  for (const width of widths) {
    lines.push(solid(at, v, width, length))
    at += width + gap
  }
  return lines
}

/**
 * A tint of round dots: dark dots up to 60 %, light dots in a solid above.
 * @param rulingLpi lines per inch
 * @param tone share of ink, 0..0.95
 * @throws RangeError when the dots would overlap
 */
export function tint(
  u: number,
  v: number,
  width: number,
  height: number,
  rulingLpi: number,
  angle: number,
  tone: number,
): Shape[] {
  if (!(tone > 0 && tone <= 0.95)) throw new RangeError(`tone must be above 0 and at most 0.95; got ${tone}`)
  const pitch = 25.4 / rulingLpi
  const light = tone > 0.6
  const radius = pitch * Math.sqrt((light ? 1 - tone : tone) / Math.PI)
  const dots: Dots = { kind: 'dots', u, v, width, height, pitch, angle, radius, ink: light ? -1 : 1 }
  return light ? [solid(u, v, width, height), dots] : [dots]
}

/** A patch of concentric rays made of turned bars: straight edges that are not on the print axes. */
export function sunRays(
  u: number,
  v: number,
  inner: number,
  outer: number,
  count: number,
  stroke: number,
): Rectangle[] {
  return Array.from({ length: count }, (_, i) => {
    const angle = (360 * i) / count
    const middle = (inner + outer) / 2
    const cu = u + middle * Math.cos((angle * Math.PI) / 180)
    const cv = v + middle * Math.sin((angle * Math.PI) / 180)
    const length = outer - inner
    return { kind: 'rectangle', u: cu - length / 2, v: cv - stroke / 2, width: length, height: stroke, turn: angle }
  })
}

/**
 * Block letters cut from strokes, on a grid 6 wide and 8 high with strokes of 1.6: `[u, v, width, height, turn]`.
 * Upright strokes of one letter touch and do not overlap; slanted ones do at their ends, where coverage is cut at 1.
 */
const STROKE = 1.6
const GAP = 1.4
const LETTERS: Record<string, readonly (readonly [number, number, number, number, number?])[]> = (() => {
  const s = STROKE
  const w = 6
  const h = 8
  const left = [0, 0, s, h] as const
  const right = [w - s, 0, s, h] as const
  const top = [s, 0, w - 2 * s, s] as const
  const middle = [s, (h - s) / 2, w - 2 * s, s] as const
  const bottom = [s, h - s, w - 2 * s, s] as const
  const topAll = [0, 0, w, s] as const
  const bottomAll = [0, h - s, w, s] as const
  const armTop = [s, 0, w - s, s] as const
  const armMiddle = [s, (h - s) / 2, w - s - 1, s] as const
  const armBottom = [s, h - s, w - s, s] as const
  const stem = [(w - s) / 2, s, s, h - s] as const
  const slant = (u0: number, v0: number, u1: number, v1: number) => {
    const length = Math.hypot(u1 - u0, v1 - v0)
    const turn = (Math.atan2(v1 - v0, u1 - u0) * 180) / Math.PI
    return [(u0 + u1 - length) / 2, (v0 + v1 - s) / 2, length, s, turn] as const
  }
  const half = (h - s) / 2
  return {
    A: [left, right, top, middle],
    B: [
      left,
      top,
      middle,
      bottom,
      [w - s, 0.7, s, half - 0.7],
      [w - s, half + s, s, half - 0.7],
      [w - s, half, s - 0.7, s],
    ],
    C: [left, armTop, armBottom],
    D: [left, top, bottom, [w - s, 0.9, s, h - 1.8], [w - s, 0, s - 0.9, 0.9], [w - s, h - 0.9, s - 0.9, 0.9]],
    E: [left, armTop, armMiddle, armBottom],
    F: [left, armTop, armMiddle],
    G: [left, armTop, armBottom, [w - s, half, s, half], [w - s - 1, half, 1, s]],
    H: [left, right, middle],
    I: [[0, 0, s, h]],
    K: [left, slant(s, h / 2, w - 0.7, 0.6), slant(s, h / 2, w - 0.7, h - 0.6)],
    L: [left, armBottom],
    M: [left, right, top, [(w - 1) / 2, s, 1, 3]],
    N: [left, right, slant(s / 2, 0.5, w - s / 2, h - 0.5)],
    O: [left, right, top, bottom],
    P: [left, top, middle, [w - s, 0, s, half + s]],
    R: [left, top, middle, [w - s, 0, s, half + s], slant(w / 2 - 0.3, half + s, w - s / 2, h - 0.5)],
    S: [topAll, bottomAll, [0, half, w, s], [0, s, s, half - s], [w - s, half + s, s, half - s]],
    T: [topAll, stem],
    U: [left, right, bottom],
    V: [slant(s / 2, 0.4, w / 2, h - 0.6), slant(w - s / 2, 0.4, w / 2, h - 0.6)],
    W: [left, right, bottom, [(w - 1) / 2, h - s - 3, 1, 3]],
    Y: [
      [0, 0, s, half],
      [w - s, 0, s, half],
      [0, half, w, s],
      [(w - s) / 2, half + s, s, half],
    ],
    Z: [topAll, bottomAll, slant(w - s / 2, s * 0.7, s / 2, h - s * 0.7)],
    '0': [left, right, top, bottom, [s + 0.8, 3.4, w - 2 * s - 1.6, 1.2]],
    '1': [
      [(w - s) / 2, 0, s, h],
      [(w - s) / 2 - 1.2, 0.6, 1.2, s],
    ],
    '2': [topAll, bottomAll, [0, half, w, s], [w - s, s, s, half - s], [0, half + s, s, half - s]],
    '3': [right, [0, 0, w - s, s], [1, half, w - s - 1, s], [0, h - s, w - s, s]],
    '4': [right, [0, 0, s, half], [0, half, w - s, s]],
    '5': [topAll, bottomAll, [0, half, w, s], [0, s, s, half - s], [w - s, half + s, s, half - s]],
    '6': [left, armTop, armBottom, [s, half, w - s, s], [w - s, half + s, s, half - s]],
    '7': [right, [0, 0, w - s, s]],
    '8': [left, right, top, middle, bottom],
    '9': [right, [0, 0, w - s, s], [0, s, s, half - s], [0, half, w - s, s], [0, h - s, w - s, s]],
    '-': [[1, half, w - 2, s]],
  }
})()

/**
 * Words in block letters: corner at (u, v), letters `height` mm high.
 * @throws RangeError on a letter that is not cut
 */
export function blockText(text: string, u: number, v: number, height: number): Rectangle[] {
  const scale = height / 8
  const shapes: Rectangle[] = []
  let at = u
  for (const letter of text) {
    if (letter === ' ') {
      at += 4 * scale
      continue
    }
    const strokes = LETTERS[letter]
    if (strokes === undefined) throw new RangeError(`letter must be A-Z (no J, Q, X), 0-9 or a dash; got ${letter}`)
    for (const [su, sv, width, tall, turn] of strokes)
      shapes.push({
        kind: 'rectangle',
        u: at + su * scale,
        v: v + sv * scale,
        width: width * scale,
        height: tall * scale,
        turn: turn ?? 0,
      })
    at += (letter === 'I' ? STROKE + GAP : 6 + GAP) * scale
  }
  return shapes
}

/** Width of words set by `blockText`, mm. */
export function textWidth(text: string, height: number): number {
  let units = 0
  for (const letter of text) units += letter === ' ' ? 4 : letter === 'I' ? STROKE + GAP : 6 + GAP
  return ((units - GAP) * height) / 8
}
