import { describe, expect, it } from 'vitest'
import type { LightField } from '../../../src/imaging/light-field.js'
import { readIdentity } from '../../../src/locate/read-identity.js'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import type { StripIdentity } from '../../../src/model/strip.js'
import { drawStrip, USUAL_SCREEN } from '../../../src/strip/draw-strip.js'
import { encodeStripCode } from '../../../src/strip/strip-code.js'
import { checkedText, withCodes } from '../../support/strip-codes.js'

const IDENTITY: StripIdentity = {
  positive: 'reef-label',
  jobType: 'halftone',
  dpi: { across: 600, along: 600 },
  form: 'short',
  laid: 'head',
  tints: 'grey',
}
const DRAWING = drawStrip(IDENTITY, USUAL_SCREEN)
const PER_MM = 600 / 25.4
const UPRIGHT = { x0: 20, y0: 20, xx: PER_MM, yx: 0, xy: 0, yy: PER_MM }

/** The print itself as light, a printer pixel a scanner pixel, 20 clear pixels round it. */
function field({ bits, rowBytes, width, height }: ArtworkBitmap): LightField {
  const light = (column: number, row: number) => {
    const c = column - 20
    const r = row - 20
    if (c < 0 || r < 0 || c >= width || r >= height) return 0.9
    return (bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) === 0 ? 0.9 : 0.001
  }
  return {
    width: width + 40,
    height: height + 40,
    umPerPixel: { across: 1000 / PER_MM, along: 1000 / PER_MM },
    read: rect =>
      Float32Array.from({ length: rect.width * rect.height }, (_, i) =>
        light(rect.column + (i % rect.width), rect.row + Math.floor(i / rect.width)),
      ),
  }
}
const read = (texts: Parameters<typeof withCodes>[1]) =>
  readIdentity(field(withCodes(DRAWING, texts)), DRAWING.layout, UPRIGHT, 0.9)
const OWN = encodeStripCode(IDENTITY)

describe('readIdentity', () => {
  it('reads both ends, or one of them when the other is gone', async () => {
    expect(await read({})).toEqual({ kind: 'read', identity: IDENTITY, ends: ['first', 'last'] })
    expect(await read({ first: null })).toEqual({ kind: 'read', identity: IDENTITY, ends: ['last'] })
    expect(await read({ last: null })).toMatchObject({ ends: ['first'] })
    expect(await read({ first: null, last: null })).toEqual({
      kind: 'refused',
      because: 'neither of its two codes could be read',
    })
  })

  it('goes by the good end when the other one fails its check', async () => {
    expect(await read({ first: `${OWN}x` })).toMatchObject({ kind: 'read', ends: ['last'] })
  })

  it.each([
    ['a check that does not agree', `${OWN.slice(0, -1)}${OWN.endsWith('1') ? '2' : '1'}`, 'its check does not agree'],
    ['a path', checkedText('1khg ../../x halftone 600'), 'its positive holds a path'],
    ['markup', checkedText('1khg <script>alert(1)</script> halftone 600'), 'its positive holds a path'],
    ['markup without a slash', checkedText('1khg <b> halftone 600'), 'its positive holds markup'],
    ['control characters', checkedText('1khg a$07$b halftone 600'), 'its positive holds control characters'],
    ['another version', checkedText('2khg reef halftone 600'), 'it is of version 2'],
    ['no resolution', checkedText('1khg reef halftone 99999'), 'it names no printer resolution'],
    ['a stranger', 'https: best before 2026', 'it is some other code'],
  ])('refuses a code with %s', async (_, text, because) => {
    const found = await read({ first: text, last: text })
    expect(found.kind).toBe('refused')
    expect(found.kind === 'refused' && found.because).toContain(because)
  })

  it('refuses two ends that name different films', async () => {
    const other = encodeStripCode({ ...IDENTITY, positive: 'harbor' })
    expect(await read({ last: other })).toEqual({
      kind: 'refused',
      because: 'its two ends name different films, "reef-label" and "harbor"',
    })
  })
})
