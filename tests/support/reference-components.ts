import { createRequire } from 'node:module'

/** One connected group as the reference library tells it. */
export interface ReferenceComponent {
  readonly cells: number
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
  /** Centre of its pixels. */
  readonly column: number
  readonly row: number
  /** Central second moments over its area, pixels squared. */
  readonly xx: number
  readonly yy: number
  readonly xy: number
}

export interface ReferenceComponents {
  readonly components: readonly ReferenceComponent[]
  /** Rows x columns, 0 for the background; else the component's number from 1, in the order of the list. */
  readonly labels: Int32Array
}

/** The little of OpenCV that is used here; its package ships no types that compile. */
interface Mat {
  readonly data: Uint8Array
  readonly data32F: Float32Array
  readonly data32S: Int32Array
  readonly data64F: Float64Array
  delete(): void
}
interface OpenCv {
  readonly Mat: new (rows?: number, columns?: number, type?: number) => Mat
  readonly CV_8UC1: number
  readonly CV_32FC1: number
  readonly CV_32S: number
  readonly THRESH_BINARY: number
  readonly THRESH_BINARY_INV: number
  threshold(from: Mat, to: Mat, level: number, most: number, kind: number): number
  connectedComponentsWithStats(
    mask: Mat,
    labels: Mat,
    stats: Mat,
    centres: Mat,
    connectivity: number,
    type: number,
  ): number
  moments(mask: Mat, binary: boolean): { m00: number; mu20: number; mu02: number; mu11: number }
}

const require = createRequire(import.meta.url)
const { cv } = require('opencv-wasm') as { cv: OpenCv }

/** Numbers that `connectedComponentsWithStats` tells of each. */
const STATS = 5

/**
 * Connected components (8-connected) of what lies beyond a level, by OpenCV 4.3 (`threshold`, `connectedComponentsWithStats`, `moments`):
 * the outside reference for our own labelling.
 * @param sense 1: codes above the level; -1: codes at or below it
 */
export function referenceComponents(
  codes: Uint16Array,
  width: number,
  height: number,
  level: number,
  sense: 1 | -1,
): ReferenceComponents {
  const made: Mat[] = []
  const mat = (rows?: number, columns?: number, type?: number): Mat => {
    const one = rows === undefined ? new cv.Mat() : new cv.Mat(rows, columns, type)
    made.push(one)
    return one
  }
  try {
    const page = mat(height, width, cv.CV_32FC1)
    page.data32F.set(codes)
    const beyond = mat()
    cv.threshold(page, beyond, level, 1, sense === 1 ? cv.THRESH_BINARY : cv.THRESH_BINARY_INV)
    const mask = mat(height, width, cv.CV_8UC1)
    mask.data.set(beyond.data32F)
    const [labels, stats, centres] = [mat(), mat(), mat()]
    const count = cv.connectedComponentsWithStats(mask, labels, stats, centres, 8, cv.CV_32S)
    const all = Int32Array.from(labels.data32S)
    const components = Array.from({ length: count - 1 }, (_, k): ReferenceComponent => {
      const [left, top, wide, high, cells] = stats.data32S.subarray((k + 1) * STATS) as unknown as number[]
      const [column, row] = centres.data64F.subarray((k + 1) * 2) as unknown as number[]
      const alone = new cv.Mat(high, wide, cv.CV_8UC1)
      for (let r = 0; r < high!; r++)
        for (let c = 0; c < wide!; c++)
          alone.data[r * wide! + c] = all[(top! + r) * width + left! + c] === k + 1 ? 1 : 0
      const { m00, mu20, mu02, mu11 } = cv.moments(alone, true)
      alone.delete()
      return {
        cells: cells!,
        left: left!,
        top: top!,
        right: left! + wide! - 1,
        bottom: top! + high! - 1,
        column: column!,
        row: row!,
        xx: mu20 / m00,
        yy: mu02 / m00,
        xy: mu11 / m00,
      }
    })
    return { components, labels: all }
  } finally {
    for (const one of made) one.delete()
  }
}
