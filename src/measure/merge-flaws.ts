import type { FlawKind } from '../model/flaw.js'
import type { PixelPoint } from '../model/geometry.js'
import type { UnnumberedFlaw } from './measure-flaws.js'

/** Spots this near, um edge to edge, or half the larger one's diameter, are one to the eye at reading distance (1 minute of arc at 0.35 m). */
const ONE_TO_THE_EYE = 100
/** Pieces of one scratch: as nearly on one line, um and degrees, and so near end to end, mm. It breaks where the film is clear or the ink held. */
const OFF_LINE = 200
const OFF_DEGREES = 4
const BREAK_MM = 10

type Pitch = { readonly across: number; readonly along: number }

/** Clusters of spots, and pieces of one line, made one flaw each: open areas add, the outline holds all. */
export function mergeFlaws(flaws: readonly UnnumberedFlaw[], umPerPixel: Pitch): UnnumberedFlaw[] {
  const parent = Int32Array.from(flaws, (_, i) => i)
  const root = (i: number): number => {
    let at = i
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]!]!
      at = parent[at]!
    }
    return at
  }
  const order = Array.from(flaws, (_, i) => i).sort((a, b) => flaws[a]!.place.row - flaws[b]!.place.row)
  const boxes = flaws.map(boxUm(umPerPixel))
  // Spots in order of row: only those a largest flaw's height away need be compared.
  for (let a = 0; a < order.length; a++) {
    const i = order[a]!
    for (let b = a + 1; b < order.length; b++) {
      const k = order[b]!
      if ((flaws[k]!.place.row - flaws[i]!.place.row) * umPerPixel.along > REACH_UM) break
      if (standsAlone(flaws[i]!) || standsAlone(flaws[k]!) || isDark(flaws[i]!.kind) !== isDark(flaws[k]!.kind))
        continue
      const gap = Math.max(ONE_TO_THE_EYE, 0.5 * Math.max(flaws[i]!.diameterUm, flaws[k]!.diameterUm))
      if (apart(boxes[i]!, boxes[k]!) <= gap) parent[root(k)] = root(i)
    }
  }
  const lines = order.filter(i => isLine(flaws[i]!.kind))
  for (let a = 0; a < lines.length; a++)
    for (let b = a + 1; b < lines.length; b++)
      if (onOneLine(flaws[lines[a]!]!, flaws[lines[b]!]!, umPerPixel)) parent[root(lines[b]!)] = root(lines[a]!)
  const groups = new Map<number, number[]>()
  for (let i = 0; i < flaws.length; i++) {
    const list = groups.get(root(i))
    if (list === undefined) groups.set(root(i), [i])
    else list.push(i)
  }
  return [...groups.values()].map(list =>
    list.length === 1
      ? flaws[list[0]!]!
      : merged(
          list.map(i => flaws[i]!),
          umPerPixel,
        ),
  )
}

/** A shorter hair's box is hardly larger than itself, mm. */
const LONG_HAIR_MM = 1
/** No spot is larger, and none is merged from farther away. */
const REACH_UM = 12_000

const isLine = (kind: FlawKind) => kind === 'scratch' || kind === 'missingNozzle'
/** What fills little of its box: other flaws in there are none of it. */
const standsAlone = ({ kind, lengthMm }: UnnumberedFlaw) =>
  isLine(kind) || (kind === 'hair' && (lengthMm ?? 0) > LONG_HAIR_MM)
const isDark = (kind: FlawKind) => kind === 'speck' || kind === 'hair'

type Box = { left: number; top: number; right: number; bottom: number }

const boxUm =
  ({ across, along }: Pitch) =>
  ({ corners }: UnnumberedFlaw): Box => ({
    left: Math.min(...corners.map(c => c.column)) * across,
    right: Math.max(...corners.map(c => c.column)) * across,
    top: Math.min(...corners.map(c => c.row)) * along,
    bottom: Math.max(...corners.map(c => c.row)) * along,
  })

function apart(a: Box, b: Box): number {
  return Math.hypot(Math.max(0, a.left - b.right, b.left - a.right), Math.max(0, a.top - b.bottom, b.top - a.bottom))
}

/** Middle of each end of an outline along a line. */
function ends({ corners: [a, b, c, d] }: UnnumberedFlaw): [PixelPoint, PixelPoint] {
  const middle = (p: PixelPoint, q: PixelPoint) => ({ column: (p.column + q.column) / 2, row: (p.row + q.row) / 2 })
  return [middle(a!, d!), middle(b!, c!)]
}

function onOneLine(one: UnnumberedFlaw, other: UnnumberedFlaw, { across, along }: Pitch): boolean {
  const xy = (p: PixelPoint): [number, number] => [p.column * across, p.row * along]
  const [a, b] = ends(one).map(xy) as [[number, number], [number, number]]
  const [c, d] = ends(other).map(xy) as [[number, number], [number, number]]
  const [longA, longB, p, q] =
    Math.hypot(b[0] - a[0], b[1] - a[1]) >= Math.hypot(d[0] - c[0], d[1] - c[1]) ? [a, b, c, d] : [c, d, a, b]
  const ux = longB[0] - longA[0]
  const uy = longB[1] - longA[1]
  const long = Math.hypot(ux, uy)
  if (!(long > 0)) return false
  const off = (x: [number, number]) => Math.abs((x[0] - longA[0]) * uy - (x[1] - longA[1]) * ux) / long
  const at = (x: [number, number]) => ((x[0] - longA[0]) * ux + (x[1] - longA[1]) * uy) / long
  const turn = Math.abs(Math.atan2((q[0] - p[0]) * uy - (q[1] - p[1]) * ux, (q[0] - p[0]) * ux + (q[1] - p[1]) * uy))
  const degrees = (Math.min(turn, Math.PI - turn) * 180) / Math.PI
  const from = Math.min(at(p), at(q))
  const to = Math.max(at(p), at(q))
  const gap = Math.max(0, from - long, -to)
  // Farther away a line's own direction tells less.
  const allowed = OFF_LINE + gap * Math.tan((0.5 * Math.PI) / 180)
  return degrees <= OFF_DEGREES && Math.max(off(p), off(q)) <= allowed && gap <= BREAK_MM * 1000
}

function merged(list: readonly UnnumberedFlaw[], umPerPixel: Pitch): UnnumberedFlaw {
  const leakedMm2 = list.reduce((sum, f) => sum + f.leakedMm2, 0)
  const worst = list.reduce((best, f) => (f.leakedMm2 > best.leakedMm2 ? f : best))
  const diameterUm = 2000 * Math.sqrt(leakedMm2 / Math.PI)
  // Errors of the members' areas are mostly common: their relative errors are averaged.
  const relative = list.reduce((sum, f) => sum + (f.expandedUm / f.diameterUm) * f.leakedMm2, 0) / leakedMm2
  const mean = (of: (f: UnnumberedFlaw) => number) => list.reduce((sum, f) => sum + of(f) * f.leakedMm2, 0) / leakedMm2
  const common = {
    place: { column: mean(f => f.place.column), row: mean(f => f.place.row) },
    diameterUm,
    expandedUm: relative * diameterUm,
    leakedMm2,
    possibleDust: list.every(f => f.possibleDust),
    members: list.reduce((sum, f) => sum + f.members, 0),
  }
  if (isLine(worst.kind)) {
    const points = list.flatMap(f => ends(f))
    let far: [PixelPoint, PixelPoint] = [points[0]!, points[1]!]
    for (const p of points)
      for (const q of points) if (length(p, q, umPerPixel) > length(far[0], far[1], umPerPixel)) far = [p, q]
    const lengthMm = length(far[0], far[1], umPerPixel) / 1000
    const inked = list.reduce((sum, f) => sum + (f.lengthMm ?? 0), 0)
    const [a, , , d] = worst.corners
    const half = Math.hypot(a!.column - d!.column, a!.row - d!.row) / 2
    const long = Math.hypot(far[1].column - far[0].column, far[1].row - far[0].row) || 1
    const x = (-(far[1].row - far[0].row) / long) * half
    const y = ((far[1].column - far[0].column) / long) * half
    return {
      ...common,
      // One that runs along the feed on the whole is a nozzle's, whatever its pieces looked like.
      kind: list.some(f => f.kind === 'missingNozzle') ? 'missingNozzle' : 'scratch',
      lengthMm,
      widthUm: inked > 0 ? (1000 * leakedMm2) / inked : null,
      corners: [
        { column: far[0].column + x, row: far[0].row + y },
        { column: far[1].column + x, row: far[1].row + y },
        { column: far[1].column - x, row: far[1].row - y },
        { column: far[0].column - x, row: far[0].row - y },
      ],
    }
  }
  const all = list.flatMap(f => f.corners)
  const left = Math.min(...all.map(c => c.column))
  const right = Math.max(...all.map(c => c.column))
  const top = Math.min(...all.map(c => c.row))
  const bottom = Math.max(...all.map(c => c.row))
  return {
    ...common,
    kind: worst.kind,
    lengthMm: worst.lengthMm,
    widthUm: worst.widthUm,
    corners: [
      { column: left, row: top },
      { column: right, row: top },
      { column: right, row: bottom },
      { column: left, row: bottom },
    ],
  }
}

function length(p: PixelPoint, q: PixelPoint, { across, along }: Pitch): number {
  return Math.hypot((p.column - q.column) * across, (p.row - q.row) * along)
}
