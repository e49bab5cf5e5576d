import type { PixelRect } from '../model/geometry.js'
import type { Picture } from '../model/measured.js'
import { greyPng } from './grey-png.js'
import { toneCurve } from './tone-curve.js'

/** A square of light, row by row, and the window of the scan that it shows. */
export interface LightSquare {
  readonly light: Float32Array
  readonly side: number
  readonly rect: PixelRect
}

/**
 * A square of light as an 8-bit grey PNG, toned as the page picture is: pictures of two scans compare by eye.
 * @param square `light.length === side * side`, transmittance
 */
export function lightPicture(square: LightSquare, id: string, caption: string): Picture {
  const { light, side, rect } = square
  if (light.length !== side * side) throw new RangeError(`light must have ${side * side} entries; got ${light.length}`)
  const grey = Buffer.alloc(light.length)
  for (let i = 0; i < light.length; i++) grey[i] = toneCurve(light[i]!)
  const png = greyPng(grey, side, side)
  return { id, caption, pngBase64: png.toString('base64'), width: side, height: side, rect }
}
