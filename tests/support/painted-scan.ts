import { type BedScan, filmToPixel, scanFilm } from '../../src/demo/scanner.js'
import { ascii, rational, writeTiff } from './tiff-writer.js'

/** What a place of the film (mm from its corner) reads, from the code it would have read. */
export type Paint = (u: number, v: number, code: number) => number

/** A make-believe scan as a 16-bit TIFF with something done to its codes: dust and labels on the film, what a driver does to the picture. */
export function paintedScan(scan: BedScan, paint: Paint, dpi = scan.scanner.dpi): Buffer {
  const { codes, width, height } = scanFilm(scan)
  const [origin, u, v] = [filmToPixel(scan, 0, 0), filmToPixel(scan, 1, 0), filmToPixel(scan, 0, 1)]
  const [a, b] = [u.column - origin.column, v.column - origin.column]
  const [c, d] = [u.row - origin.row, v.row - origin.row]
  const determinant = a * d - b * c
  const data = codes.map((code, i) => {
    const dc = (i % width) - origin.column
    const dr = Math.floor(i / width) - origin.row
    const painted = paint((d * dc - b * dr) / determinant, (a * dr - c * dc) / determinant, code)
    return Math.max(0, Math.min(65_535, Math.round(painted)))
  })
  const { maker, model } = scan.scanner
  const tags = { 271: ascii(maker), 272: ascii(model), 282: rational(dpi, 1), 283: rational(dpi, 1) }
  return writeTiff({ width, height, data, tags })
}
