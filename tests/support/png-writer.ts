import { crc32, deflateSync } from 'node:zlib'

export interface PngToWrite {
  readonly width: number
  readonly height: number
  readonly bits: 8 | 16
  /** 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha. */
  readonly samples: 1 | 2 | 3 | 4
  /** Interleaved, row by row. */
  readonly data: ArrayLike<number>
  /** Whole pixels a metre, across and down. */
  readonly perMetre?: readonly [number, number]
  /** Unit byte of the resolution; 1 is the metre. */
  readonly unit?: number
}

/** Writes a PNG without interlace, filter type 0, pixels in two pieces (PNG, third edition, sections 5 and 11). */
export function writePng(picture: PngToWrite): Buffer {
  const { width, height, bits, samples, data } = picture
  const rowBytes = (width * samples * bits) / 8
  const raw = Buffer.alloc(height * (rowBytes + 1))
  for (let r = 0; r < height; r++)
    for (let i = 0; i < width * samples; i++) {
      const at = r * (rowBytes + 1) + 1
      if (bits === 16) raw.writeUInt16BE(data[r * width * samples + i]!, at + 2 * i)
      else raw[at + i] = data[r * width * samples + i]!
    }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  head[8] = bits
  head[9] = [0, 4, 2, 6][samples - 1]!
  const packed = deflateSync(raw)
  const half = packed.length >> 1
  const pieces = [Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), chunk('IHDR', head)]
  if (picture.perMetre !== undefined) {
    const density = Buffer.alloc(9)
    density.writeUInt32BE(picture.perMetre[0], 0)
    density.writeUInt32BE(picture.perMetre[1], 4)
    density[8] = picture.unit ?? 1
    pieces.push(chunk('pHYs', density))
  }
  pieces.push(
    chunk('IDAT', packed.subarray(0, half)),
    chunk('IDAT', packed.subarray(half)),
    chunk('IEND', Buffer.alloc(0)),
  )
  return Buffer.concat(pieces)
}

function chunk(name: string, content: Buffer): Buffer {
  const out = Buffer.alloc(12 + content.length)
  out.writeUInt32BE(content.length, 0)
  out.write(name, 4, 'latin1')
  content.copy(out, 8)
  out.writeUInt32BE(crc32(out.subarray(4, 8 + content.length)), 8 + content.length)
  return out
}
