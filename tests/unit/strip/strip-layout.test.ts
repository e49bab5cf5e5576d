import { describe, expect, it } from 'vitest'
import type { StripField, StripForm, StripRect } from '../../../src/model/strip.js'
import { pixelPitch, stripLayout } from '../../../src/strip/strip-layout.js'

const FORMS: readonly StripForm[] = ['standard', 'short', 'ladder']
const DPI = { across: 1440, along: 720 }

function gapBetween(a: StripRect, b: StripRect): number {
  const dx = Math.max(a.x - (b.x + b.width), b.x - (a.x + a.width))
  const dy = Math.max(a.y - (b.y + b.height), b.y - (a.y + a.height))
  return Math.max(dx, dy)
}

/** What takes room on the strip: plates in place of their lines. */
function places(fields: readonly StripField[]): { readonly what: string; readonly rect: StripRect }[] {
  const found = new Map<string, { what: string; rect: StripRect }>()
  for (const field of fields) {
    const rect = field.kind === 'line' ? field.plate : field.rect
    found.set(JSON.stringify(rect), { what: field.kind, rect })
  }
  return [...found.values()]
}

describe('the layout of the strip', () => {
  it('is about as large as it is called', () => {
    const size = (form: StripForm) => {
      const { width, height } = stripLayout(form, 'feed', null)
      return [width, height]
    }
    expect(FORMS.map(size)).toEqual([
      [140, 15],
      [70, 15],
      [140, 27],
    ])
  })

  it.each(FORMS)('%s: no field touches another, and each keeps the clear border', form => {
    const { fields, width, height } = stripLayout(form, 'head', null)
    const all = places(fields)
    const close: string[] = []
    all.forEach((a, i) => {
      for (const b of all.slice(i + 1))
        if (gapBetween(a.rect, b.rect) < 0.19) close.push(`${a.what} ${b.what} ${gapBetween(a.rect, b.rect)}`)
      const { x, y } = a.rect
      // A code's own quiet zone is a module; those of 32 are 0.42 mm.
      const border = a.what.startsWith('code') ? 0.7 : 0.9
      expect(Math.min(x, y, width - x - a.rect.width, height - y - a.rect.height)).toBeGreaterThanOrEqual(border - 1e-9)
    })
    expect(close).toEqual([])
  })

  it.each(FORMS)('%s: codes keep a quiet zone of two modules, marks and solid 0.8 mm of clear film', form => {
    const all = places(stripLayout(form, 'head', null).fields)
    for (const a of all)
      for (const b of all) {
        if (a === b || b.what === 'clear') continue
        if (a.what === 'code') expect(gapBetween(a.rect, b.rect)).toBeGreaterThanOrEqual(1)
        if (a.what === 'mark' || a.what === 'solid')
          expect(gapBetween(a.rect, b.rect), `${a.what} to ${b.what}`).toBeGreaterThanOrEqual(0.8 - 1e-9)
      }
  })

  it.each(FORMS)('%s: holds the solid and the edges that measuring asks for', form => {
    const { fields } = stripLayout(form, 'head', null)
    const solid = fields.find(f => f.kind === 'solid')!
    expect(Math.min(solid.rect.width, solid.rect.height)).toBeGreaterThanOrEqual(8)
    expect(Math.max(solid.rect.width, solid.rect.height)).toBeGreaterThanOrEqual(10)
    expect(fields.find(f => f.kind === 'rail')!.rect.width).toBeGreaterThanOrEqual(10)
    for (const mark of fields.filter(f => f.kind === 'mark')) expect(mark.rect.height).toBeGreaterThanOrEqual(10)
    for (const polarity of ['positive', 'negative'])
      for (const runs of ['head', 'feed'])
        expect(
          fields.flatMap(f => (f.kind === 'line' && f.polarity === polarity && f.runs === runs ? [f.nominalUm] : [])),
        ).toEqual([50, 100, 150, 200, 300, 500])
  })

  it('tells any two marks of any form by their distance', () => {
    const distances = FORMS.flatMap(form => {
      const xs = stripLayout(form, 'head', null).fields.flatMap(f => (f.kind === 'mark' ? [f.rect.x] : []))
      return xs.flatMap((a, i) => xs.slice(i + 1).map(b => b - a))
    }).sort((a, b) => a - b)
    const closest = Math.min(...distances.slice(1).map((d, i) => d - distances[i]!))
    expect(closest).toBeGreaterThan(1)
  })

  it('lays every edge on whole printer pixels, which are not square', () => {
    for (const laid of ['head', 'feed'] as const) {
      const pitch = pixelPitch(DPI, laid)
      for (const field of stripLayout('standard', laid, DPI).fields)
        for (const rect of [field.rect, ...(field.kind === 'hairs' ? field.lines : [])])
          for (const [at, step] of [
            [rect.x, pitch.x],
            [rect.width, pitch.x],
            [rect.y, pitch.y],
            [rect.height, pitch.y],
          ] as const)
            expect(Math.abs(at / step - Math.round(at / step))).toBeLessThan(1e-6)
    }
  })

  it('says the width a line is truly printed with, by the pixels that lie across it', () => {
    const thinnest = (laid: 'head' | 'feed') =>
      stripLayout('standard', laid, DPI).fields.flatMap(f =>
        f.kind === 'line' && f.polarity === 'positive' && f.nominalUm === 50 ? [[f.runs, f.widthUm.toFixed(2)]] : [],
      )
    // 50 um is 2.8 pixels of 17.64 um across the head, and 1.4 of 35.28 um along the feed.
    expect(thinnest('head')).toEqual([
      ['feed', '52.92'],
      ['head', '35.28'],
    ])
    expect(thinnest('feed')).toEqual([
      ['head', '35.28'],
      ['feed', '52.92'],
    ])
  })
})
