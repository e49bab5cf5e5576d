import sharp from 'sharp'
import type { ArtworkBitmap } from '../model/artwork.js'
import { type Dpi, MM_PER_INCH } from '../model/geometry.js'
import type { Dots, Shape } from './film.js'

/**
 * Draws shapes as the RIP would: a 1-bit separation, a pixel black when its middle lies in ink. Shapes are laid one after the other;
 * those with negative ink take it away.
 */
export function separation(
  art: { readonly widthMm: number; readonly heightMm: number; readonly shapes: readonly Shape[] },
  dpi: Dpi,
): ArtworkBitmap {
  const pixelX = MM_PER_INCH / dpi.across
  const pixelY = MM_PER_INCH / dpi.along
  const width = Math.round(art.widthMm / pixelX)
  const height = Math.round(art.heightMm / pixelY)
  const rowBytes = (width + 7) >> 3
  const bits = new Uint8Array(rowBytes * height)
  const paint = (
    left: number,
    top: number,
    right: number,
    bottom: number,
    ink: number,
    inside: (x: number, y: number) => boolean,
  ): void => {
    const c0 = Math.max(0, Math.ceil(left / pixelX - 0.5 - 1e-9))
    const c1 = Math.min(width - 1, Math.ceil(right / pixelX - 0.5 - 1e-9) - 1)
    const r0 = Math.max(0, Math.ceil(top / pixelY - 0.5 - 1e-9))
    const r1 = Math.min(height - 1, Math.ceil(bottom / pixelY - 0.5 - 1e-9) - 1)
    for (let r = r0; r <= r1; r++)
      for (let c = c0; c <= c1; c++) {
        if (!inside((c + 0.5) * pixelX, (r + 0.5) * pixelY)) continue
        const mask = 0x80 >> (c & 7)
        if (ink > 0) bits[r * rowBytes + (c >> 3)]! |= mask
        else bits[r * rowBytes + (c >> 3)]! &= ~mask
      }
  }
  for (const shape of art.shapes) {
    const ink = shape.ink ?? 1
    if (shape.kind === 'rectangle') {
      const { u, v, width: w, height: h } = shape
      const turn = ((shape.turn ?? 0) * Math.PI) / 180
      if (turn === 0) paint(u, v, u + w, v + h, ink, () => true)
      else {
        const cu = u + w / 2
        const cv = v + h / 2
        const reach = Math.hypot(w, h) / 2
        paint(cu - reach, cv - reach, cu + reach, cv + reach, ink, (x, y) => {
          const along = (x - cu) * Math.cos(turn) + (y - cv) * Math.sin(turn)
          const aside = (y - cv) * Math.cos(turn) - (x - cu) * Math.sin(turn)
          return Math.abs(along) <= w / 2 && Math.abs(aside) <= h / 2
        })
      }
    } else if (shape.kind === 'disc') {
      const { u, v, radius } = shape
      paint(u - radius, v - radius, u + radius, v + radius, ink, (x, y) => Math.hypot(x - u, y - v) <= radius)
    } else {
      const { radius } = shape
      for (const [x0, y0] of dotsOf(shape))
        paint(x0 - radius, y0 - radius, x0 + radius, y0 + radius, ink, (x, y) => Math.hypot(x - x0, y - y0) <= radius)
    }
  }
  let ink = 0
  for (const byte of bits) for (let b = byte; b > 0; b >>= 1) ink += b & 1
  return { file: 'separation.tif', width, height, dpi, bits, rowBytes, inkShare: ink / (width * height), warnings: [] }
}

/** Centres of the dots of a screen: whole dots only, as on the film. */
export function dotsOf(dots: Dots): [number, number][] {
  const { u, v, width, height, pitch, radius } = dots
  const cos = Math.cos((dots.angle * Math.PI) / 180)
  const sin = Math.sin((dots.angle * Math.PI) / 180)
  const reach = Math.ceil(Math.hypot(width, height) / 2 / pitch) + 1
  const centres: [number, number][] = []
  for (let j = -reach; j <= reach; j++)
    for (let i = -reach; i <= reach; i++) {
      const x = u + width / 2 + (i * cos - j * sin) * pitch
      const y = v + height / 2 + (i * sin + j * cos) * pitch
      if (x - radius >= u && x + radius <= u + width && y - radius >= v && y + radius <= v + height)
        centres.push([x, y])
    }
  return centres
}

/** Writes a separation as a 1-bit TIFF (Group 4) or, by the name's ending, a black and white PNG. */
export async function writeSeparation(file: string, artwork: ArtworkBitmap): Promise<void> {
  const { width, height, bits, rowBytes, dpi } = artwork
  const grey = Buffer.alloc(width * height, 255)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++)
      if ((bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0) grey[r * width + c] = 0
  const picture = sharp(grey, { raw: { width, height, channels: 1 }, limitInputPixels: false }).toColourspace('b-w')
  if (/\.png$/i.test(file)) await picture.withMetadata({ density: dpi.across }).png().toFile(file)
  else
    await picture
      .tiff({ bitdepth: 1, compression: 'ccittfax4', xres: dpi.across / MM_PER_INCH, yres: dpi.along / MM_PER_INCH })
      .toFile(file)
}
