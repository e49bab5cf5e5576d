import type { Dpi, PixelRect } from './geometry.js'

/** Which stored sample is measured. A grey scan has only `grey`. Blue is nearest the exposure lamp. */
export type Channel = 'grey' | 'red' | 'green' | 'blue'

/** What a scan says of itself. Nothing here is a measurement. */
export interface ScanHeader {
  /** Path as given. */
  readonly file: string
  readonly format: 'tiff' | 'png'
  readonly width: number
  readonly height: number
  /** Absent when the file does not say: never guessed. */
  readonly dpi: Dpi | null
  /** Bits of the stored samples. 8-bit samples are handed out multiplied by 257, so that full scale is 65535 for both. */
  readonly bits: 8 | 16
  /** Samples a pixel that carry light: 1 or 3. Extra samples (alpha, infrared) are dropped and named in `warnings`. */
  readonly channels: 1 | 3
  /** The channel windows are read from. */
  readonly channel: Channel
  readonly compression: string
  readonly maker: string | null
  readonly model: string | null
  /** Date tag as ISO 8601 without zone (the scanner's own clock), or null. */
  readonly taggedAt: string | null
  /** Sentences for the report: 8-bit scan, extra sample dropped, profile ignored. */
  readonly warnings: readonly string[]
}

/** Exact stored codes of one channel, row by row; `codes.length === width * height`. Read-only by agreement. */
export interface CodeWindow extends PixelRect {
  readonly codes: Uint16Array
}

/**
 * An open handle on a scan: hands out windows, never the page. Codes are exact as stored, except that
 * min-is-white files are turned so that more light is always the higher code.
 */
export interface OpenScan {
  readonly header: ScanHeader
  /** Codes of a window; throws RangeError when it leaves the page. */
  readWindow(rect: PixelRect): CodeWindow
  /** Calls `visit` with full-width bands of whole rows, top to bottom, each row once. Bands may differ in height; their codes are valid until `visit` returns. */
  forEachBand(visit: (band: CodeWindow) => void): void
  /** A file that holds the same codes, for another thread to open while this scan is open; absent where there is none. */
  readonly file?: string
  /** Releases the file handle and any temporary file. Safe to call twice. */
  close(): void
}
