/** A place before and after a map of the plane, any units. */
export interface PointPair {
  readonly fromX: number
  readonly fromY: number
  readonly toX: number
  readonly toY: number
}

/** to = (x0, y0) + fromX * (xx, yx) + fromY * (xy, yy). */
export interface PlaneMap {
  readonly x0: number
  readonly y0: number
  readonly xx: number
  readonly yx: number
  readonly xy: number
  readonly yy: number
}

/**
 * Affine map of the plane by weighted least squares, sums taken about the centroid.
 * @param weights one a pair, 0 leaves it out; all 1 when not given
 * @throws RangeError when fewer than 3 pairs count or they lie on one line
 */
export function fitAffine(pairs: readonly PointPair[], weights?: ArrayLike<number>): PlaneMap {
  const c = centroid(pairs, weights)
  let uu = 0
  let uv = 0
  let vv = 0
  let ux = 0
  let uy = 0
  let vx = 0
  let vy = 0
  for (let i = 0; i < pairs.length; i++) {
    const w = weights?.[i] ?? 1
    const { fromX, fromY, toX, toY } = pairs[i]!
    const u = fromX - c.fromX
    const v = fromY - c.fromY
    uu += w * u * u
    uv += w * u * v
    vv += w * v * v
    ux += w * u * (toX - c.toX)
    uy += w * u * (toY - c.toY)
    vx += w * v * (toX - c.toX)
    vy += w * v * (toY - c.toY)
  }
  const determinant = uu * vv - uv * uv
  if (!(determinant > 1e-12 * (uu + vv) ** 2))
    throw new RangeError(`an affine map needs 3 pairs not on one line; got ${pairs.length} pairs on one line`)
  const xx = (ux * vv - vx * uv) / determinant
  const xy = (vx * uu - ux * uv) / determinant
  const yx = (uy * vv - vy * uv) / determinant
  const yy = (vy * uu - uy * uv) / determinant
  return { xx, xy, yx, yy, x0: c.toX - xx * c.fromX - xy * c.fromY, y0: c.toY - yx * c.fromX - yy * c.fromY }
}

/** A turn, a scale and a shift. */
export interface Similarity {
  readonly scale: number
  /** Degrees, x towards y. */
  readonly turn: number
  readonly shiftX: number
  readonly shiftY: number
}

/**
 * Similarity (one scale, a turn, a shift; no mirror) by least squares in closed form (Umeyama, IEEE Trans. Pattern Anal.
 * Mach. Intell. 13, 376, 1991, in the plane; from memory).
 * @throws RangeError when fewer than 2 different places are given
 */
export function fitSimilarity(pairs: readonly PointPair[]): Similarity {
  const c = centroid(pairs)
  let size = 0
  let along = 0
  let aside = 0
  for (const { fromX, fromY, toX, toY } of pairs) {
    const u = fromX - c.fromX
    const v = fromY - c.fromY
    size += u * u + v * v
    along += u * (toX - c.toX) + v * (toY - c.toY)
    aside += u * (toY - c.toY) - v * (toX - c.toX)
  }
  if (!(size > 0)) throw new RangeError(`a similarity needs 2 different places; got ${pairs.length} pairs at one place`)
  const cos = along / size
  const sin = aside / size
  return {
    scale: Math.hypot(cos, sin),
    turn: (Math.atan2(sin, cos) * 180) / Math.PI,
    shiftX: c.toX - cos * c.fromX + sin * c.fromY,
    shiftY: c.toY - sin * c.fromX - cos * c.fromY,
  }
}

/** Where a map takes a place. */
export function mapped(map: PlaneMap, x: number, y: number): { readonly x: number; readonly y: number } {
  return { x: map.x0 + map.xx * x + map.xy * y, y: map.y0 + map.yx * x + map.yy * y }
}

function centroid(pairs: readonly PointPair[], weights?: ArrayLike<number>): PointPair {
  let total = 0
  let fromX = 0
  let fromY = 0
  let toX = 0
  let toY = 0
  for (let i = 0; i < pairs.length; i++) {
    const w = weights?.[i] ?? 1
    total += w
    fromX += w * pairs[i]!.fromX
    fromY += w * pairs[i]!.fromY
    toX += w * pairs[i]!.toX
    toY += w * pairs[i]!.toY
  }
  if (!(total > 0)) throw new RangeError(`a map of the plane needs pairs that count; got a total weight of ${total}`)
  return { fromX: fromX / total, fromY: fromY / total, toX: toX / total, toY: toY / total }
}
