import type { PlaneMap } from './fit-plane-map.js'

/** The inverse of a map of the plane. @throws RangeError when it is flat */
export function inverseMap(map: PlaneMap): PlaneMap {
  const determinant = map.xx * map.yy - map.xy * map.yx
  if (!(Math.abs(determinant) > 1e-12))
    throw new RangeError(`a map must not be flat; its determinant is ${determinant}`)
  const xx = map.yy / determinant
  const xy = -map.xy / determinant
  const yx = -map.yx / determinant
  const yy = map.xx / determinant
  return { xx, xy, yx, yy, x0: -(xx * map.x0 + xy * map.y0), y0: -(yx * map.x0 + yy * map.y0) }
}
