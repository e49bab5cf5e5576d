import type { PixelRect } from '../../src/model/geometry.js'
import type { CodeWindow, OpenScan, ScanHeader } from '../../src/model/scan.js'

/** An OpenScan over codes held in memory, for tests that need no file. */
export function memoryScan(
  codes: Uint16Array,
  width: number,
  height: number,
  dpi: number,
  header: Partial<ScanHeader> = {},
): OpenScan {
  if (codes.length !== width * height) throw new RangeError(`codes has ${codes.length}, not ${width} x ${height}`)
  return {
    header: {
      file: 'memory',
      format: 'tiff',
      width,
      height,
      dpi: { across: dpi, along: dpi },
      bits: 16,
      channels: 1,
      channel: 'grey',
      compression: 'none',
      maker: null,
      model: null,
      taggedAt: null,
      warnings: [],
      ...header,
    },
    readWindow(rect: PixelRect): CodeWindow {
      if (rect.column < 0 || rect.row < 0 || rect.column + rect.width > width || rect.row + rect.height > height)
        throw new RangeError('window leaves the page')
      const out = new Uint16Array(rect.width * rect.height)
      for (let r = 0; r < rect.height; r++) {
        const start = (rect.row + r) * width + rect.column
        out.set(codes.subarray(start, start + rect.width), r * rect.width)
      }
      return { ...rect, codes: out }
    },
    forEachBand(visit) {
      const rows = 64
      for (let row = 0; row < height; row += rows) {
        const n = Math.min(rows, height - row)
        visit({ column: 0, row, width, height: n, codes: codes.subarray(row * width, (row + n) * width) })
      }
    },
    close() {},
  }
}
