import { promisify } from 'node:util'
import { deflate } from 'node:zlib'

const packed = promisify(deflate)

/**
 * An 8-bit grey PNG without interlace, filter type 0 (PNG, third edition, sections 5, 7 and 11). Written here, for a picture library takes
 * longer to load than all pictures of a report take to be packed.
 * @param grey row by row, `width * height` bytes
 * @param enlarge each pixel becomes a square of so many
 */
export async function greyPng(grey: Uint8Array, width: number, height: number, enlarge = 1): Promise<Buffer> {
  if (grey.length !== width * height) throw new RangeError(`grey must have ${width * height} bytes; got ${grey.length}`)
  const rowBytes = width * enlarge + 1
  const raw = Buffer.alloc(height * enlarge * rowBytes)
  for (let row = 0; row < height; row++) {
    const first = row * enlarge * rowBytes
    // After the byte that says how the row is filtered.
    for (let column = 0, at = first + 1; column < width; column++)
      for (let again = 0; again < enlarge; again++) raw[at++] = grey[row * width + column]!
    for (let again = 1; again < enlarge; again++) raw.copyWithin(first + again * rowBytes, first, first + rowBytes)
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width * enlarge, 0)
  head.writeUInt32BE(height * enlarge, 4)
  head[8] = 8
  return Buffer.concat([
    Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
    chunk('IHDR', head),
    chunk('IDAT', await packed(raw, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ])
}

function chunk(name: string, content: Buffer): Buffer {
  const whole = Buffer.alloc(12 + content.length)
  whole.writeUInt32BE(content.length, 0)
  whole.write(name, 4, 'latin1')
  content.copy(whole, 8)
  whole.writeUInt32BE(checksum(whole.subarray(4, 8 + content.length)), 8 + content.length)
  return whole
}

/** CRC-32 of each byte (PNG, third edition, annex D). Node has it from 20.15 on only. */
const REMAINDERS = Uint32Array.from({ length: 256 }, (_, byte) => {
  let rest = byte
  for (let bit = 0; bit < 8; bit++) rest = rest & 1 ? 0xedb88320 ^ (rest >>> 1) : rest >>> 1
  return rest
})

function checksum(bytes: Uint8Array): number {
  let rest = 0xffffffff
  for (let i = 0; i < bytes.length; i++) rest = REMAINDERS[(rest ^ bytes[i]!) & 0xff]! ^ (rest >>> 8)
  return (rest ^ 0xffffffff) >>> 0
}
