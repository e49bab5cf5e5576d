import { open } from 'node:fs/promises'
import { endianness } from 'node:os'

/** What the file says of itself. */
export interface CodesHeader {
  readonly width: number
  readonly height: number
  readonly dpi: number
  readonly maker: string
  readonly model: string
  /** The scanner's own clock, `YYYY-MM-DDTHH:MM:SS`. */
  readonly dateTime: string
}

/** Whole rows of codes, top to bottom. */
type Bands = Iterable<{ readonly height: number; readonly codes: Uint16Array }>

/**
 * Writes codes as a 16-bit grey uncompressed little-endian TIFF (TIFF 6.0, section 4), rows in strips, without ever holding
 * the page.
 * @throws RangeError when the date is not of that form or the file would pass 4 GB
 */
export async function writeCodes(file: string, header: CodesHeader, bands: Bands): Promise<void> {
  const { width, height, dpi, maker, model, dateTime } = header
  const tagged = /^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d:\d\d)$/.exec(dateTime)
  if (tagged === null) throw new RangeError(`dateTime must read YYYY-MM-DDTHH:MM:SS; got ${dateTime}`)
  if (!(width * height * 2 < 4_000_000_000))
    throw new RangeError(`a scan must stay below 4 GB; got ${width} x ${height}`)
  const head = tiffHeader(width, height, dpi, maker, model, `${tagged[1]}:${tagged[2]}:${tagged[3]} ${tagged[4]}`)
  const handle = await open(file, 'w')
  try {
    await handle.writev([head])
    // Bands are gathered to about 4 MB, so that a scan is tens of writes and not hundreds.
    const gathered = Buffer.alloc(Math.max(4_194_304, width * 2 * 64))
    let used = 0
    for (const band of bands) {
      const bytes = Buffer.from(band.codes.buffer, band.codes.byteOffset, band.height * width * 2)
      if (used + bytes.length > gathered.length) {
        await handle.write(gathered, 0, used)
        used = 0
      }
      if (bytes.length > gathered.length) throw new RangeError(`a band must stay below ${gathered.length} bytes`)
      bytes.copy(gathered, used)
      if (endianness() === 'BE') gathered.subarray(used, used + bytes.length).swap16()
      used += bytes.length
    }
    await handle.write(gathered, 0, used)
  } finally {
    await handle.close()
  }
}

const ROWS_PER_STRIP = 64
const SHORT = 3
const LONG = 4
const RATIONAL = 5
const ASCII = 2

function tiffHeader(width: number, height: number, dpi: number, maker: string, model: string, date: string): Buffer {
  const strips = Math.ceil(height / ROWS_PER_STRIP)
  const tags: { tag: number; type: number; count: number; data: Buffer }[] = []
  const add = (tag: number, type: number, values: readonly number[]) => {
    const size = type === SHORT ? 2 : 4
    const data = Buffer.alloc(values.length * size)
    values.forEach((value, i) => {
      if (type === SHORT) data.writeUInt16LE(value, i * size)
      else data.writeUInt32LE(value, i * size)
    })
    tags.push({ tag, type, count: type === RATIONAL ? values.length / 2 : values.length, data })
  }
  const addText = (tag: number, text: string) => {
    const data = Buffer.from(`${text}\0`, 'latin1')
    tags.push({ tag, type: ASCII, count: data.length, data })
  }
  add(256, LONG, [width])
  add(257, LONG, [height])
  add(258, SHORT, [16])
  add(259, SHORT, [1])
  add(262, SHORT, [1])
  addText(271, maker)
  addText(272, model)
  add(273, LONG, new Array(strips).fill(0))
  add(274, SHORT, [1])
  add(277, SHORT, [1])
  add(278, LONG, [ROWS_PER_STRIP])
  add(
    279,
    LONG,
    Array.from({ length: strips }, (_, i) => Math.min(ROWS_PER_STRIP, height - i * ROWS_PER_STRIP) * width * 2),
  )
  add(282, RATIONAL, [dpi, 1])
  add(283, RATIONAL, [dpi, 1])
  add(296, SHORT, [2])
  addText(306, date)

  const directory = 8
  let end = directory + 2 + tags.length * 12 + 4
  const places = tags.map(({ data }) => {
    if (data.length <= 4) return null
    const at = end
    end += data.length + (data.length % 2)
    return at
  })
  const first = Math.ceil(end / 16) * 16
  const offsets = tags.find(tag => tag.tag === 273)!.data
  for (let i = 0; i < strips; i++) offsets.writeUInt32LE(first + i * ROWS_PER_STRIP * width * 2, i * 4)

  const out = Buffer.alloc(first)
  out.write('II', 0, 'latin1')
  out.writeUInt16LE(42, 2)
  out.writeUInt32LE(directory, 4)
  out.writeUInt16LE(tags.length, directory)
  tags.forEach(({ tag, type, count, data }, i) => {
    const at = directory + 2 + i * 12
    out.writeUInt16LE(tag, at)
    out.writeUInt16LE(type, at + 2)
    out.writeUInt32LE(count, at + 4)
    const place = places[i]!
    if (place === null) data.copy(out, at + 8)
    else {
      out.writeUInt32LE(place, at + 8)
      data.copy(out, place)
    }
  })
  return out
}
