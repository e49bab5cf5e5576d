import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import { seededRandom } from '../../src/demo/random.js'
import { blockOverview } from '../../src/imaging/block-overview.js'
import { findSpots, type SpotLevels, type Spots } from '../../src/imaging/find-spots.js'
import { labelComponents } from '../../src/imaging/label-components.js'
import { spotLight } from '../../src/imaging/spot-light.js'
import { expectWithin } from '../support/expect-within.js'
import { memoryScan } from '../support/memory-scan.js'
import { type ReferenceComponent, referenceComponents } from '../support/reference-components.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

/**
 * Our labelling of blobs against OpenCV's (a general image library; opencv-wasm, OpenCV 4.3.0): the same groups with the same areas, boxes, centres and
 * second moments, on images that neither of them made.
 */
interface Page {
  readonly codes: Uint16Array
  readonly width: number
  readonly height: number
}

const table = Float32Array.from({ length: 65536 }, (_, code) => code / 65535)

/** Holds every group of a page at three levels against the reference; how many there were. */
function compare({ codes, width, height }: Page, levels: SpotLevels, blockPx: number): number {
  const scan = memoryScan(codes, width, height, 600)
  const limits = { longestPx: Math.max(width, height) + 1, most: codes.length }
  const found = findSpots(scan, blockOverview(scan, blockPx, table), levels, limits)
  let count = 0
  for (const [spots, level, sense] of [
    [found.light, levels.lightAbove, 1],
    [found.upper, levels.middle, 1],
    [found.lower, levels.middle, -1],
    // Dark is below its level, not at it.
    [found.dark, levels.darkBelow - 1, -1],
  ] as const) {
    const reference = referenceComponents(codes, width, height, level, sense)
    const wanted = [...reference.components].sort(inOrder)
    const ours = listed(spots).sort(inOrder)
    expect(ours.map(exact)).toEqual(wanted.map(exact))
    const off = { place: 0, long: 0, short: 0, turn: 0 }
    for (const [k, one] of ours.entries()) {
      const { column, row, xx, yy, xy } = wanted[k]!
      off.place = Math.max(off.place, Math.hypot(one.column - column, one.row - row))
      // The pixel's own square adds a twelfth to ours.
      const half = (xx + yy) / 2 + 1 / 12
      const apart = Math.hypot((xx - yy) / 2, xy)
      off.long = Math.max(off.long, Math.abs(one.long ** 2 / (half + apart) - 1))
      off.short = Math.max(off.short, Math.abs(one.short ** 2 / Math.max(1 / 12, half - apart) - 1))
      const turn = Math.atan2(2 * xy, xx - yy) / 2
      // A group as long as wide lies in no direction.
      if (apart > 1e-3 * half) off.turn = Math.max(off.turn, Math.abs(Math.sin(one.angle - turn)))
    }
    expectWithin(off.place, 0, { abs: 1e-6, unit: 'px', because: 'both sum whole numbers' })
    expectWithin(off.long, 0, { abs: 1e-5, unit: 'of its square', because: 'ours is kept to single precision' })
    expectWithin(off.short, 0, { abs: 1e-4, unit: 'of its square', because: 'a difference of two larger numbers' })
    expectWithin(off.turn, 0, { abs: 1e-3, unit: 'rad', because: 'a round group hardly has a direction' })
    const marks = Uint8Array.from(codes, code => Number(sense === 1 ? code > level : code <= level))
    expect(samePartition(labelComponents(marks, width, height).labels, reference.labels)).toBe(true)
    count += wanted.length
  }
  return count
}

/** Levels that so large shares of the pixels lie below: every picture has groups at each. */
function levelsAt(codes: Uint16Array, shares: readonly [number, number, number]): SpotLevels {
  const sorted = Uint16Array.from(codes).sort()
  const [first, second, third] = shares.map(share => sorted[Math.floor(share * (sorted.length - 1))]!)
  const lightAbove = Math.max(1, first!)
  const middle = Math.max(lightAbove + 1, second!)
  return { lightAbove, middle, darkBelow: Math.max(middle + 1, third!) }
}

const inOrder = (a: ReferenceComponent, b: ReferenceComponent) =>
  a.top - b.top || a.left - b.left || a.right - b.right || a.bottom - b.bottom || a.cells - b.cells || a.row - b.row

const exact = ({ cells, left, top, right, bottom }: ReferenceComponent) => [cells, left, top, right, bottom]

type Listed = ReferenceComponent & { readonly long: number; readonly short: number; readonly angle: number }

function listed(spots: Spots): Listed[] {
  expect(spots.overflow).toBe(false)
  return Array.from({ length: spots.count }, (_, i) => ({
    cells: spots.cells[i]!,
    left: spots.left[i]!,
    top: spots.top[i]!,
    right: spots.right[i]!,
    bottom: spots.bottom[i]!,
    column: spots.column[i]!,
    row: spots.row[i]!,
    xx: 0,
    yy: 0,
    xy: 0,
    long: spots.long[i]!,
    short: spots.short[i]!,
    angle: spots.angle[i]!,
  }))
}

/** Whether two labellings part the cells alike, however they number the groups. */
function samePartition(one: Int32Array, other: Int32Array): boolean {
  const partner = new Map<number, number>([[0, 0]])
  const back = new Map<number, number>([[0, 0]])
  for (let i = 0; i < one.length; i++) {
    const [a, b] = [one[i]!, other[i]!]
    if (!partner.has(a) && !back.has(b)) {
      partner.set(a, b)
      back.set(b, a)
    }
    if (partner.get(a) !== b || back.get(b) !== a) return false
  }
  return true
}

/** An SVG as codes, drawn by a general library (librsvg within sharp). */
async function drawn(svg: string, density = 72): Promise<Page> {
  const { data, info } = await sharp(Buffer.from(svg), { density })
    .greyscale()
    .raw()
    .toBuffer({ resolveWithObject: true })
  const { width, height, channels } = info
  return { codes: Uint16Array.from({ length: width * height }, (_, i) => 257 * data[i * channels]!), width, height }
}

/** Type, a spiral, dots of many sizes, hair-lines and holes, with soft edges. */
function typePage(): string {
  const dots = Array.from({ length: 200 }, (_, i) => {
    const a = 2.399963 * i
    const r = 6.8 * Math.sqrt(i)
    return `<circle cx="${(110 + r * Math.cos(a)).toFixed(2)}" cy="${(110 + r * Math.sin(a)).toFixed(2)}" r="${(0.5 + (i % 7) * 0.35).toFixed(2)}"/>`
  }).join('')
  const spiral = Array.from({ length: 300 }, (_, i) => {
    const a = 0.09 * i
    return `${i === 0 ? 'M' : 'L'}${(310 + 3.1 * a * Math.cos(a)).toFixed(2)} ${(105 + 3.1 * a * Math.sin(a)).toFixed(2)}`
  }).join('')
  return `<svg xmlns="http://www.w3.org/2000/svg" width="420" height="300"><rect width="420" height="300" fill="#e8e8e8"/>${dots}
    <path d="${spiral}" fill="none" stroke="#111" stroke-width="2.3"/><g font-family="sans-serif"><text x="8" y="250" font-size="30">Tidewater 8</text>
    <text x="10" y="270" font-size="9">Screenworks, small type: aeo gB 068</text></g><path d="M8 285 L400 291" stroke="#222" stroke-width="0.7"/>
    <rect x="270" y="205" width="130" height="70"/><g fill="#f4f4f4"><circle cx="300" cy="235" r="1.1"/><circle cx="340" cy="245" r="2.2"/>
    <path d="M355 215 L390 267" stroke="#fff" stroke-width="1.2"/></g></svg>`
}

describe('blobs as OpenCV labels them', () => {
  it('on a page of type, a spiral and dots that librsvg drew', async () => {
    const levels = { lightAbove: 10_000, middle: 30_000, darkBelow: 50_000 }
    expect(compare(await drawn(typePage()), levels, 8)).toBeGreaterThan(400)
  })

  it('on noise near the threshold of percolation, where groups are ragged, hollow and one inside another', () => {
    const random = seededRandom(8)
    const [width, height] = [230, 170]
    const codes = Uint16Array.from({ length: width * height }, () => Math.floor(65535 * random.uniform()))
    // 0.407 of the cells where corners join (from memory): the hardest there is.
    expect(compare({ codes, width, height }, levelsAt(codes, [0.41, 0.5, 0.59]), 7)).toBeGreaterThan(300)
  })

  it('sums the light of a blurred disc to the area that OpenCV counts of the sharp one', async () => {
    const disc = `<svg xmlns="http://www.w3.org/2000/svg" width="90" height="80"><rect width="90" height="80"/><circle cx="43.3" cy="38.8" r="9.6" fill="#fff"/></svg>`
    const fine = await drawn(disc, 72 * 10)
    const { components } = referenceComponents(fine.codes, fine.width, fine.height, 32_768, 1)
    expect(components).toHaveLength(1)
    const wanted = components[0]!.cells * (90 / fine.width) ** 2
    // Each pixel the mean of what it covers, then blurred in 16 bits: 8 would cut off the skirts.
    const hard = new Float64Array(90 * 80)
    fine.codes.forEach((code, i) => {
      hard[90 * Math.floor(i / fine.width / 10) + Math.floor((i % fine.width) / 10)]! += code / 100
    })
    const blurred = await sharp(Uint16Array.from(hard, Math.round), { raw: { width: 90, height: 80, channels: 1 } })
      .toColourspace('grey16')
      .blur(1.6)
      .raw({ depth: 'ushort' })
      .toBuffer()
    const scan = memoryScan(new Uint16Array(blurred.buffer, blurred.byteOffset, 90 * 80), 90, 80, 600)
    const levels = { lightAbove: 8000, middle: 32_000, darkBelow: 60_000 }
    const { light } = findSpots(scan, blockOverview(scan, 8, table), levels, { longestPx: 60, most: 10 })
    expect(light.count).toBe(1)
    const box = { left: light.left[0]!, top: light.top[0]!, right: light.right[0]!, bottom: light.bottom[0]! }
    const spot = spotLight(scan.readWindow({ column: 0, row: 0, width: 90, height: 80 }), table, box, 1, 8000, 8, 0, 1)
    expectWithin(spot!.area / wanted, 1, {
      abs: 0.003,
      unit: 'share',
      because: 'pixels a tenth as large along the rim',
    })
  })
})

describe.skipIf(!haveSharedData)('blobs of open images as OpenCV labels them (need the shared data)', () => {
  /** MIT, BSD and the public test images of a TIFF library: SOURCE.md beside each says whence. */
  const IMAGES = [
    ['flatbed-film/filters.tif', 'red'],
    ['flatbed-film/strips-1.tif', 'blue'],
    ['slanted-edge/Test_edge1_mono.tif', 'grey'],
    ['tiff-valid/pillow/16bit.cropped.tif', 'grey'],
    ['tiff-valid/pillow/hopper.tif', 'green'],
  ] as const
  for (const [file, channel] of IMAGES)
    it(file, async () => {
      const scan = await openScan(join(SHARED_DATA, file), { channel, tempDir: tmpdir() })
      try {
        const { width, height } = scan.header
        // Its middle, at most 320 pixels a side: enough groups, and quickly told.
        const [wide, high] = [Math.min(320, width), Math.min(320, height)]
        const column = Math.floor((width - wide) / 2)
        const row = Math.floor((height - high) / 2)
        const page = scan.readWindow({ column, row, width: wide, height: high })
        expect(compare(page, levelsAt(page.codes, [0.3, 0.5, 0.7]), 6)).toBeGreaterThan(20)
      } finally {
        scan.close()
      }
    })
})
