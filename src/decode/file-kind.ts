import { ProblemError } from '../model/problem.js'
import type { ScanFile } from './scan-file.js'

/** First bytes of files that people mistake for scans. */
const OTHERS: readonly (readonly [start: string, name: string])[] = [
  ['%PDF', 'a PDF'],
  ['BM', 'a BMP picture'],
  ['GIF8', 'a GIF picture'],
  ['PK\x03\x04', 'a ZIP archive'],
  ['8BPS', 'a layered image-editor file'],
  ['%!PS', 'a PostScript file'],
  ['\x00\x00\x00\x0cjP  ', 'a JPEG 2000 picture'],
]

/**
 * Tells a TIFF from a PNG by its first bytes; the name of the file does not matter.
 * @throws ProblemError NOT_A_SCAN, COMPRESSION_LOSSY (JPEG), SCAN_TRUNCATED (room reserved, nothing written)
 */
export function fileKind(file: ScanFile): 'tiff' | 'png' {
  const head = file.read(0, Math.min(16, file.size)).toString('latin1')
  if (/^(II[*+]\0|MM\0[*+])/.test(head)) return 'tiff'
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return 'png'
  if (head.startsWith('\xff\xd8\xff')) throw new ProblemError('COMPRESSION_LOSSY', 'JPEG')
  if (/^\0+$/.test(head)) throw new ProblemError('SCAN_TRUNCATED', 'its beginning is not written yet')
  if ('\x89PNG\r\n\x1a\n'.startsWith(head) || /^(II|II[*+]|MM|MM\0)$/.test(head))
    throw new ProblemError('SCAN_TRUNCATED', `it has only ${file.size} bytes`)
  const webp = head.startsWith('RIFF') && head.slice(8, 12) === 'WEBP'
  const name = webp ? 'a WebP picture' : OTHERS.find(([start]) => head.startsWith(start))?.[1]
  const text = /^[\t\n\r\x20-\x7e]+$/.test(head) ? 'it begins like text' : 'its first bytes are unknown'
  throw new ProblemError('NOT_A_SCAN', name === undefined ? text : `it is ${name}`)
}
