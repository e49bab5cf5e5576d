import { readFile } from 'node:fs/promises'
import { fileURLToPath } from 'node:url'
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader'

/** The reader wants its program handed over: it would fetch it from the network. */
const ready = readFile(fileURLToPath(import.meta.resolve('zxing-wasm/reader/zxing_reader.wasm'))).then(wasm =>
  prepareZXingModule({ overrides: { wasmBinary: new Uint8Array(wasm).buffer as ArrayBuffer }, fireImmediately: true }),
)

/** Every Data Matrix on a grey picture, with its text and whether it is mirrored. */
export async function readCodes(grey: {
  readonly width: number
  readonly height: number
  readonly values: Uint8Array
}): Promise<readonly { readonly text: string; readonly isMirrored: boolean }[]> {
  await ready
  const { width, height, values } = grey
  const data = new Uint8ClampedArray(width * height * 4)
  for (let i = 0; i < width * height; i++) data.fill(values[i]!, 4 * i, 4 * i + 4)
  const found = await readBarcodes(
    { width, height, data, colorSpace: 'srgb' },
    { formats: ['DataMatrix'], tryHarder: true, tryRotate: true, tryInvert: false, maxNumberOfSymbols: 8 },
  )
  return found.filter(code => code.isValid)
}
