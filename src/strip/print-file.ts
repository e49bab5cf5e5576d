import { deflateSync } from 'node:zlib'
import PDFDocument from 'pdfkit'
import sharp from 'sharp'
import type { ArtworkBitmap } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { GreyArea } from './draw-strip.js'
import { inkRectangles } from './ink-rectangles.js'

/** What is put on film: a raster, and areas of plain grey on it where the shop screens for itself. */
export interface Print {
  readonly bitmap: ArtworkBitmap
  readonly greys: readonly GreyArea[]
  /** Stands in the PDF's and SVG's own title. */
  readonly title: string
}

export const PRINT_FILES = ['png', 'tif', 'pdf', 'svg'] as const
export type PrintFile = (typeof PRINT_FILES)[number]

const POINTS_PER_INCH = 72
/**
 * PDF paints every pixel a shape touches (ISO 32000-1, 10.6.5), so an edge on a pixel's border, rounded outwards, would paint one pixel
 * too many: edges are drawn this share of a pixel inside it.
 */
const INSET = 0.01
const INCHES_PER_METRE = 1000 / MM_PER_INCH

/**
 * Which kind of file a name asks for.
 * @throws ProblemError STRIP_FILE_KIND
 */
export function printFileKind(name: string): PrintFile {
  const ending = /\.([^.\\/]*)$/.exec(name)?.[1]?.toLowerCase() ?? ''
  const kind = PRINT_FILES.find(k => k === (ending === 'tiff' ? 'tif' : ending))
  if (kind === undefined) throw new ProblemError('STRIP_FILE_KIND', ending === '' ? `"${name}"` : `.${ending}`)
  return kind
}

/**
 * The bytes of a file to print from, at true size: PNG and TIFF pixel for pixel of the printer (1-bit; 8-bit grey when there are
 * grey areas), PDF and SVG as rectangles with their edges on the printer's pixels. Black is ink.
 */
export async function printFile(print: Print, kind: PrintFile): Promise<Buffer> {
  switch (kind) {
    case 'png':
      return pngFile(print)
    case 'tif':
      return tiffFile(print)
    case 'pdf':
      return pdfFile(print)
    case 'svg':
      return svgFile(print)
  }
}

/** Own writer: sharp can say one resolution only, and a printer's two may differ. PNG specification (ISO/IEC 15948), greyscale, 1 or 8 bits. */
function pngFile({ bitmap, greys }: Print): Buffer {
  const { width, height, dpi, bits, rowBytes } = bitmap
  const grey = greys.length > 0
  const lineBytes = grey ? width : rowBytes
  const lines = Buffer.alloc((lineBytes + 1) * height)
  const pixels = grey ? greyPixels({ bitmap, greys }) : null
  for (let r = 0; r < height; r++) {
    const at = r * (lineBytes + 1) + 1
    if (pixels !== null) lines.set(pixels.subarray(r * width, (r + 1) * width), at)
    // In a PNG of 1 bit 0 is black.
    else for (let b = 0; b < rowBytes; b++) lines[at + b] = ~bits[r * rowBytes + b]! & 0xff
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  head[8] = grey ? 8 : 1
  const size = Buffer.alloc(9)
  size.writeUInt32BE(Math.round(dpi.across * INCHES_PER_METRE), 0)
  size.writeUInt32BE(Math.round(dpi.along * INCHES_PER_METRE), 4)
  size[8] = 1
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    pngChunk('IHDR', head),
    pngChunk('pHYs', size),
    pngChunk('IDAT', deflateSync(lines)),
    pngChunk('IEND', Buffer.alloc(0)),
  ])
}

function pngChunk(name: string, data: Buffer): Buffer {
  const chunk = Buffer.alloc(data.length + 12)
  chunk.writeUInt32BE(data.length, 0)
  chunk.write(name, 4, 'latin1')
  data.copy(chunk, 8)
  chunk.writeUInt32BE(crc32(chunk.subarray(4, data.length + 8)), data.length + 8)
  return chunk
}

/** The CRC of PNG chunks (zlib.crc32 is not in Node 20). */
function crc32(bytes: Uint8Array): number {
  let crc = 0xff_ff_ff_ff
  for (const byte of bytes) crc = CRC_OF_BYTE[(crc ^ byte) & 0xff]! ^ (crc >>> 8)
  return (crc ^ 0xff_ff_ff_ff) >>> 0
}

const CRC_OF_BYTE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte
  for (let bit = 0; bit < 8; bit++) crc = (crc & 1) !== 0 ? 0xed_b8_83_20 ^ (crc >>> 1) : crc >>> 1
  return crc
})

function tiffFile(print: Print): Promise<Buffer> {
  const { width, height, dpi } = print.bitmap
  const grey = print.greys.length > 0
  const picture = sharp(greyPixels(print), { raw: { width, height, channels: 1 }, limitInputPixels: false })
  const size = { xres: dpi.across / MM_PER_INCH, yres: dpi.along / MM_PER_INCH, resolutionUnit: 'inch' as const }
  return picture
    .toColourspace('b-w')
    .tiff(
      grey ? { ...size, compression: 'lzw', predictor: 'none' } : { ...size, bitdepth: 1, compression: 'ccittfax4' },
    )
    .toBuffer()
}

/** One byte a pixel, 0 is ink. */
function greyPixels({ bitmap, greys }: Pick<Print, 'bitmap' | 'greys'>): Buffer {
  const { width, height, bits, rowBytes } = bitmap
  const pixels = Buffer.alloc(width * height, 255)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++)
      if ((bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0) pixels[r * width + c] = 0
  for (const area of greys) {
    const value = Math.round(255 * (1 - area.percent / 100))
    for (let r = area.row; r < area.row + area.height; r++)
      pixels.fill(value, r * width + area.column, r * width + area.column + area.width)
  }
  return pixels
}

function pdfFile({ bitmap, greys, title }: Print): Promise<Buffer> {
  const { width, height, dpi } = bitmap
  const x = POINTS_PER_INCH / dpi.across
  const y = POINTS_PER_INCH / dpi.along
  const document = new PDFDocument({
    size: [width * x, height * y],
    margin: 0,
    // A date of its own making would make every file differ.
    info: { Title: title, CreationDate: new Date(0) },
  })
  const chunks: Buffer[] = []
  document.on('data', (chunk: Buffer) => chunks.push(chunk))
  const ended = new Promise<void>((resolve, reject) => {
    document.on('end', () => resolve())
    document.on('error', reject)
  })
  for (const area of greys)
    document
      .rect(area.column * x, area.row * y, area.width * x, area.height * y)
      .fillColor(grey(area.percent))
      .fill()
  const ink = inkRectangles(bitmap)
  for (const r of ink)
    document.rect((r.column + INSET) * x, (r.row + INSET) * y, (r.width - 2 * INSET) * x, (r.height - 2 * INSET) * y)
  if (ink.length > 0) document.fillColor('#000000').fill()
  document.end()
  return ended.then(() => Buffer.concat(chunks))
}

function svgFile({ bitmap, greys, title }: Print): Buffer {
  const { width, height, dpi } = bitmap
  const mm = (pixels: number, perInch: number) => Number(((pixels * MM_PER_INCH) / perInch).toFixed(6))
  const rect = (r: { column: number; row: number; width: number; height: number }) =>
    `M${r.column} ${r.row}h${r.width}v${r.height}h${-r.width}z`
  // Units are printer pixels, which need not be square: the picture is stretched to its size in millimetres.
  return Buffer.from(
    [
      `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(width, dpi.across)}mm" height="${mm(height, dpi.along)}mm" viewBox="0 0 ${width} ${height}" preserveAspectRatio="none" shape-rendering="crispEdges">`,
      `<title>${title.replace(/[<>&"]/g, ' ')}</title>`,
      ...greys.map(area => `<path fill="${grey(area.percent)}" d="${rect(area)}"/>`),
      `<path d="${inkRectangles(bitmap).map(rect).join('')}"/>`,
      '</svg>',
      '',
    ].join('\n'),
  )
}

/** A grey by its share of ink, as `#rrggbb`. */
function grey(percent: number): string {
  const value = Math.round(255 * (1 - percent / 100))
    .toString(16)
    .padStart(2, '0')
  return `#${value}${value}${value}`
}
