import { describe, expect, it } from 'vitest'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import { MM_PER_INCH } from '../../../src/model/geometry.js'
import type { StripIdentity, StripRect } from '../../../src/model/strip.js'
import { drawStrip, stripWords, USUAL_SCREEN } from '../../../src/strip/draw-strip.js'
import { encodeStripCode } from '../../../src/strip/strip-code.js'
import { pixelPitch } from '../../../src/strip/strip-layout.js'
import { readCodes } from '../../support/read-codes.js'

const IDENTITY: StripIdentity = {
  positive: 'regatta-front',
  jobType: 'fine-line',
  dpi: { across: 720, along: 720 },
  form: 'short',
  laid: 'head',
  tints: 'screened',
}

function inkAt({ bits, rowBytes }: ArtworkBitmap, column: number, row: number): boolean {
  return (bits[row * rowBytes + (column >> 3)]! & (0x80 >> (column & 7))) !== 0
}

/** Share of ink in a rectangle of the strip, laid along the head. */
function share(bitmap: ArtworkBitmap, rect: StripRect): number {
  const px = MM_PER_INCH / bitmap.dpi.across
  const py = MM_PER_INCH / bitmap.dpi.along
  const [c0, c1] = [Math.round(rect.x / px), Math.round((rect.x + rect.width) / px)]
  const [r0, r1] = [Math.round(rect.y / py), Math.round((rect.y + rect.height) / py)]
  let ink = 0
  for (let r = r0; r < r1; r++) for (let c = c0; c < c1; c++) if (inkAt(bitmap, c, r)) ink++
  return ink / ((c1 - c0) * (r1 - r0))
}

/** The raster as a scan of about `dpi` sees it: each pixel the mean of what lies under it, soft as ink and lens make it. */
function seen(bitmap: ArtworkBitmap, dpi: number): { width: number; height: number; values: Uint8Array } {
  const stepX = bitmap.dpi.across / dpi
  const stepY = bitmap.dpi.along / dpi
  const width = Math.floor(bitmap.width / stepX)
  const height = Math.floor(bitmap.height / stepY)
  const values = new Uint8Array(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      let ink = 0
      let n = 0
      for (let y = Math.floor(r * stepY); y < Math.min(bitmap.height, Math.ceil((r + 1) * stepY)); y++)
        for (let x = Math.floor(c * stepX); x < Math.min(bitmap.width, Math.ceil((c + 1) * stepX)); x++, n++)
          if (inkAt(bitmap, x, y)) ink++
      values[r * width + c] = Math.round(250 * (1 - ink / n))
    }
  return { width, height, values }
}

describe('a drawn strip', () => {
  it.each([
    ['standard', 'head', 720, 720],
    ['standard', 'feed', 1440, 720],
    ['short', 'feed', 360, 360],
    ['short', 'head', 1200, 600],
    ['ladder', 'head', 720, 1440],
  ] as const)('%s along the %s at %d x %d: both codes are read from the raster', async (form, laid, across, along) => {
    const identity: StripIdentity = {
      ...IDENTITY,
      form,
      laid,
      dpi: { across, along },
      setting: 'ink 8',
      stock: 'stock-a',
      ...(form === 'ladder' ? { mode: 'fine', level: '12' } : {}),
    }
    const { bitmap } = drawStrip(identity, USUAL_SCREEN)
    const codes = await readCodes(seen(bitmap, 300))
    expect(codes.map(code => code.text)).toEqual([encodeStripCode(identity), encodeStripCode(identity)])
    expect(codes.map(code => code.isMirrored)).toEqual([false, false])
  })

  it('holds the longest text it takes, and says when it cannot', async () => {
    const longest = { ...IDENTITY, positive: 'p'.repeat(100) }
    const { bitmap, module } = drawStrip(longest, USUAL_SCREEN)
    expect(module.across).toBeGreaterThan(0.35)
    expect((await readCodes(seen(bitmap, 600))).map(code => code.text)).toEqual(Array(2).fill(encodeStripCode(longest)))
    expect(() => drawStrip({ ...IDENTITY, positive: 'p'.repeat(120) }, USUAL_SCREEN)).toThrow('STRIP_CODE_TOO_LONG')
  })

  it('keeps modules of 0.5 mm for a positive, a job type and a setting', () => {
    const { module } = drawStrip({ ...IDENTITY, setting: 'ink 8' }, USUAL_SCREEN)
    expect(module.across).toBeCloseTo(0.4939, 3)
    expect(module.feed).toBeCloseTo(0.4939, 3)
  })

  it('prints every field as its layout says', () => {
    const { bitmap, layout } = drawStrip(
      { ...IDENTITY, form: 'standard', dpi: { across: 1440, along: 720 } },
      USUAL_SCREEN,
    )
    const worst: number[] = []
    for (const field of layout.fields)
      if (field.kind === 'solid' || field.kind === 'mark' || field.kind === 'rail')
        expect(share(bitmap, field.rect)).toBe(1)
      else if (field.kind === 'clear') expect(share(bitmap, field.rect)).toBe(0)
      else if (field.kind === 'line') {
        expect(share(bitmap, field.rect)).toBe(field.polarity === 'positive' ? 1 : 0)
        // A pixel more on either side is of the other kind.
        const px = MM_PER_INCH / 1440
        const py = MM_PER_INCH / 720
        const { x, y, width, height } = field.rect
        const beside =
          field.runs === 'head'
            ? [
                { x, y: y - py, width, height: py },
                { x, y: y + height, width, height: py },
              ]
            : [
                { x: x - px, y, width: px, height },
                { x: x + width, y, width: px, height },
              ]
        for (const rect of beside) expect(share(bitmap, rect)).toBe(field.polarity === 'positive' ? 0 : 1)
      } else if (field.kind === 'tint') worst.push(Math.abs(100 * share(bitmap, field.rect) - field.percent))
    // A patch of 6.2 x 4.8 mm cuts dots at its rim; well inside whole dots lie, and the tile is true to 0.025 %.
    expect(Math.max(...worst)).toBeLessThan(0.6)
  })

  it('is the same strip laid along the feed, turned by a quarter', () => {
    const head = drawStrip({ ...IDENTITY, tints: 'grey' }, USUAL_SCREEN)
    const feed = drawStrip({ ...IDENTITY, tints: 'grey', laid: 'feed' }, USUAL_SCREEN)
    expect([feed.bitmap.width, feed.bitmap.height]).toEqual([head.bitmap.height, head.bitmap.width])
    const { rect } = head.layout.fields.find(f => f.kind === 'solid')!
    const pitch = pixelPitch(IDENTITY.dpi, 'head')
    const [x0, y0] = [Math.round(rect.x / pitch.x), Math.round(rect.y / pitch.y)]
    for (const [x, y] of [
      [x0, y0],
      [x0 - 1, y0],
      [x0, y0 - 1],
      [x0 + 40, y0 + 300],
    ] as const)
      expect(inkAt(feed.bitmap, feed.bitmap.width - 1 - y, x)).toBe(inkAt(head.bitmap, x, y))
  })

  it('leaves tints to the shop when it is told to', () => {
    const { greys, screen, bitmap, layout } = drawStrip({ ...IDENTITY, tints: 'grey' }, USUAL_SCREEN)
    expect(greys.map(area => area.percent)).toEqual([20, 40, 60, 80])
    expect(screen).toBeNull()
    for (const field of layout.fields) if (field.kind === 'tint') expect(share(bitmap, field.rect)).toBe(0)
  })

  it('puts the most wanted words first and cuts what has no room', () => {
    const words = { ...IDENTITY, setting: 'ink 8', stock: 'stock-a', printer: 'printer-1', mode: 'fine' }
    expect(stripWords(words, 19, 5)).toEqual([
      'regatta-front',
      'fine-line',
      'ink 8 fine',
      'stock-a printer-1',
      '720 dpi',
    ])
    expect(stripWords({ ...words, level: '12' }, 19, 3)[0]).toBe('fine level 12')
    expect(stripWords({ ...words, positive: 'a-very-long-name-of-a-positive-film' }, 16, 5).slice(0, 2)).toEqual([
      'a-very-long-name',
      '-of-a-positive-~',
    ])
  })
})
