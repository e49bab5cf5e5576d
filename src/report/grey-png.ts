import { PNG } from 'pngjs'

const GREY = 0
/** Rows as they are: filters cost more time than they save on grey of 8 bits. */
const UNFILTERED = 0

/**
 * An 8-bit grey PNG, by a small library that packs with Node's own zlib and loads in a fraction of the time that one for all kinds of
 * pictures takes to start.
 * @param grey row by row, `width * height` bytes
 * @param enlarge each pixel becomes a square of so many
 */
export function greyPng(grey: Uint8Array, width: number, height: number, enlarge = 1): Buffer {
  if (grey.length !== width * height) throw new RangeError(`grey must have ${width * height} bytes; got ${grey.length}`)
  const picture = new PNG({ width: width * enlarge, height: height * enlarge })
  picture.data = Buffer.from(enlarge === 1 ? grey : enlarged(grey, width, height, enlarge))
  return PNG.sync.write(picture, {
    colorType: GREY,
    inputColorType: GREY,
    bitDepth: 8,
    inputHasAlpha: false,
    filterType: UNFILTERED,
  })
}

function enlarged(grey: Uint8Array, width: number, height: number, times: number): Uint8Array {
  const rowBytes = width * times
  const out = new Uint8Array(rowBytes * height * times)
  for (let row = 0; row < height; row++) {
    const first = row * times * rowBytes
    for (let column = 0; column < width; column++)
      out.fill(grey[row * width + column]!, first + column * times, first + (column + 1) * times)
    for (let again = 1; again < times; again++) out.copyWithin(first + again * rowBytes, first, first + rowBytes)
  }
  return out
}
