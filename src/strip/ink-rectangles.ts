import type { ArtworkBitmap } from '../model/artwork.js'

/** A rectangle of ink, whole printer pixels. */
export interface InkRectangle {
  readonly column: number
  readonly row: number
  readonly width: number
  readonly height: number
}

/**
 * The ink of a raster as rectangles that touch and never overlap: a run of ink is carried on from row to row while it stays the
 * same. Drawn files made of them are the raster, exactly.
 */
export function inkRectangles(bitmap: ArtworkBitmap): readonly InkRectangle[] {
  const { width, height, bits, rowBytes } = bitmap
  const done: InkRectangle[] = []
  /** Open rectangles by their run, `from * (width + 1) + to`: the row they began in. */
  let open = new Map<number, number>()
  const close = (run: number, began: number, row: number): void => {
    const from = Math.floor(run / (width + 1))
    done.push({ column: from, row: began, width: (run % (width + 1)) - from, height: row - began })
  }
  for (let row = 0; row < height; row++) {
    const now = new Map<number, number>()
    const start = row * rowBytes
    let from = -1
    for (let c = 0; c < width; ) {
      const byte = bits[start + (c >> 3)]!
      // Eight alike at once: most of a film is clear or solid.
      if ((c & 7) === 0 && c + 8 <= width && (byte === 0 || byte === 0xff)) {
        if (byte === 0 && from >= 0) {
          now.set(from * (width + 1) + c, row)
          from = -1
        } else if (byte === 0xff && from < 0) from = c
        c += 8
        continue
      }
      if ((byte & (0x80 >> (c & 7))) !== 0) {
        if (from < 0) from = c
      } else if (from >= 0) {
        now.set(from * (width + 1) + c, row)
        from = -1
      }
      c++
    }
    if (from >= 0) now.set(from * (width + 1) + width, row)
    for (const [run, began] of open) {
      if (now.has(run)) now.set(run, began)
      else close(run, began, row)
    }
    open = now
  }
  for (const [run, began] of open) close(run, began, height)
  return done
}
