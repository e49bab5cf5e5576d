import { readFile } from 'node:fs/promises'
import { createRequire } from 'node:module'

/** A picture of a code: light 0 (ink) to 1 (clear), `side * side`, row by row, the symbol upright with clear film round it. */
export interface CodePicture {
  readonly side: number
  readonly light: Float32Array
}

type Reader = typeof import('zxing-wasm/reader')

let reader: Promise<Reader> | null = null

/** The library, loaded when the first code is met, once a thread: scans without a strip never pay for it. Its binary comes from the disk, never from a network. */
async function loaded(): Promise<Reader> {
  reader ??= (async () => {
    const library = await import('zxing-wasm/reader')
    const bytes = await readFile(createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm'))
    const wasmBinary = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer
    await library.prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true })
    return library
  })()
  return reader
}

/** Modules a side of the symbols a strip may carry (ISO/IEC 16022, ECC 200, square). */
const SIZES = [26, 32, 36, 24, 22, 40, 44] as const
/** Pixels a module of the symbol drawn anew. */
const CLEAN = 4

/**
 * The text of a Data Matrix (ISO/IEC 16022); null when it cannot be read. First as it was seen; then drawn anew from the mean light of each
 * module, so that scratches and blur are left to the symbol's own error correction.
 */
export async function readCode(picture: CodePicture): Promise<string | null> {
  const library = await loaded()
  const asSeen = await textOf(library, picture.light, picture.side, false)
  if (asSeen !== null) return asSeen
  for (const modules of cleanModules(picture)) {
    const side = (modules.size + 4) * CLEAN
    const light = new Float32Array(side * side).fill(1)
    for (let r = 0; r < modules.size * CLEAN; r++)
      for (let c = 0; c < modules.size * CLEAN; c++)
        if (modules.dark[Math.floor(r / CLEAN) * modules.size + Math.floor(c / CLEAN)] === 1)
          light[(r + 2 * CLEAN) * side + c + 2 * CLEAN] = 0
    const text = await textOf(library, light, side, true)
    if (text !== null) return text
  }
  return null
}

async function textOf(library: Reader, light: Float32Array, side: number, pure: boolean): Promise<string | null> {
  const data = new Uint8ClampedArray(side * side * 4)
  for (let i = 0; i < light.length; i++) {
    const grey = 255 * light[i]!
    data[4 * i] = grey
    data[4 * i + 1] = grey
    data[4 * i + 2] = grey
    data[4 * i + 3] = 255
  }
  const image = { data, width: side, height: side, colorSpace: 'srgb' } as unknown as Parameters<
    Reader['readBarcodes']
  >[0]
  const results = await library.readBarcodes(image, {
    formats: ['DataMatrix'],
    tryHarder: true,
    tryRotate: false,
    tryInvert: false,
    tryDownscale: false,
    isPure: pure,
    binarizer: pure ? 'FixedThreshold' : 'LocalAverage',
    maxNumberOfSymbols: 1,
  })
  const found = results.find(result => result.isValid)
  return found?.text ?? null
}

interface Modules {
  readonly size: number
  readonly dark: Uint8Array
}

/** Share of a row or column that is ink along the solid border of a symbol. */
const BORDER_INK = 0.7
/** A symbol's border patterns agree to this share, or it is not of that size. */
const LEAST_AGREEMENT = 0.8

/**
 * The symbol as modules, likeliest size first: its solid borders (left and lower) and the farthest ink tell where it lies, the
 * alternating borders (upper and right) how many modules it has.
 */
function cleanModules({ side, light }: CodePicture): Modules[] {
  const ink = (r: number, c: number) => (light[r * side + c]! < 0.5 ? 1 : 0)
  const rows = new Float64Array(side)
  const columns = new Float64Array(side)
  for (let r = 0; r < side; r++)
    for (let c = 0; c < side; c++) {
      rows[r]! += ink(r, c)
      columns[c]! += ink(r, c)
    }
  // Rows and columns that hold more than dust.
  const inked = (sums: Float64Array) => {
    const from = sums.findIndex(sum => sum > 0.1 * side)
    let to = side - 1
    while (to > from && !(sums[to]! > 0.1 * side)) to--
    return { from, to: to + 1 }
  }
  const x = inked(columns)
  const y = inked(rows)
  if (!(x.from >= 0 && y.from >= 0 && x.to - x.from > 40 && y.to - y.from > 40)) return []
  if (!(columns[x.from + 2]! > BORDER_INK * (y.to - y.from) && rows[y.to - 3]! > BORDER_INK * (x.to - x.from)))
    return []
  return SIZES.map(size => ({ size, ...sampled(light, side, size, x, y) }))
    .filter(({ agreement }) => agreement > LEAST_AGREEMENT)
    .sort((a, b) => b.agreement - a.agreement)
}

function sampled(
  light: Float32Array,
  side: number,
  size: number,
  x: { readonly from: number; readonly to: number },
  y: { readonly from: number; readonly to: number },
): { dark: Uint8Array; agreement: number } {
  const dark = new Uint8Array(size * size)
  const wide = (x.to - x.from) / size
  const high = (y.to - y.from) / size
  for (let r = 0; r < size; r++)
    for (let c = 0; c < size; c++) {
      // The middle half of the module: its rim is its neighbours' blur.
      let sum = 0
      let n = 0
      for (let i = Math.floor(y.from + (r + 0.25) * high); i < y.from + (r + 0.75) * high; i++)
        for (let j = Math.floor(x.from + (c + 0.25) * wide); j < x.from + (c + 0.75) * wide; j++) {
          sum += light[i * side + j]!
          n++
        }
      dark[r * size + c] = sum < 0.5 * n ? 1 : 0
    }
  let right = 0
  for (let i = 0; i < size; i++) {
    if (dark[i * size] === 1) right++
    if (dark[(size - 1) * size + i] === 1) right++
    if (dark[i] === (i % 2 === 0 ? 1 : 0)) right++
    if (dark[i * size + size - 1] === (i % 2 === 1 ? 1 : 0)) right++
  }
  // The borders carry no data: drawn as they must be, so that the symbol is found however they are scratched.
  for (let i = 0; i < size; i++) {
    dark[i] = i % 2 === 0 ? 1 : 0
    dark[i * size + size - 1] = i % 2 === 1 ? 1 : 0
    dark[i * size] = 1
    dark[(size - 1) * size + i] = 1
  }
  return { dark, agreement: right / (4 * size) }
}
