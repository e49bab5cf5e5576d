import { describe, expect, it } from 'vitest'
import { stripSolids } from '../../../src/measure/strip-ripple.js'
import type { LaidStrip, StripLaid } from '../../../src/model/strip.js'
import { stripLayout } from '../../../src/strip/strip-layout.js'
import { linearLight } from '../../support/bare-scan.js'
import { memoryScan } from '../../support/memory-scan.js'
import { stripEvidence } from '../../support/strip-evidence.js'

/** A page at 10 pixels a millimetre; nothing on it is looked at here. */
function page(width: number, height: number) {
  return {
    scan: memoryScan(new Uint16Array(width * height), width, height, 254),
    light: linearLight(),
    umPerPixel: { across: 100, along: 100 },
  }
}

function laidAt(laid: StripLaid, map: LaidStrip['map']): LaidStrip {
  const { laid: own } = stripEvidence().strip
  return { ...own, identity: { ...own.identity, laid, form: 'standard' }, map }
}

const UPRIGHT = { x0: 20, y0: 30, xx: 10, yx: 0, xy: 0, yy: 10 }
const TURNED = { x0: 200, y0: 20, xx: 0, yx: 10, xy: -10, yy: 0 }

describe('stripSolids', () => {
  it('has the rail first, clear of its edges, with the feed along it where the strip was laid so', () => {
    const layout = stripLayout('standard', 'feed', null)
    const [rail, solid, ...more] = stripSolids(page(1500, 300), laidAt('feed', UPRIGHT), layout)
    expect(more).toEqual([])
    expect([rail!.id, solid!.id]).toEqual(['strip-rail-1', 'strip-area-1'])
    expect([rail!.feed, rail!.turn]).toEqual(['first', 0])
    // The layout's rail: 15.6 mm from its end, 108.8 by 2.4 mm; steps of half a millimetre, 0.3 mm clear of every edge.
    expect(rail!.first).toBeCloseTo(108, 9)
    expect(rail!.second).toBeCloseTo(1.8, 9)
    expect(rail!.x).toBeCloseTo(2 + 15.9 + 54, 9)
    expect(rail!.y).toBeCloseTo(3 + 11.7 + 1.2, 9)
  })

  it('has the feed across the rail of a strip laid along the head, whichever way the film lies', () => {
    const layout = stripLayout('standard', 'head', null)
    const [rail] = stripSolids(page(1500, 300), laidAt('head', UPRIGHT), layout)
    expect(rail!.feed).toBe('second')
    const [turned] = stripSolids(page(300, 1500), laidAt('head', TURNED), layout)
    expect([turned!.feed, Math.abs(turned!.turn)]).toEqual(['first', 0])
    expect(turned!.second).toBeCloseTo(108, 9)
  })

  it('cuts off what lies outside the scan, and leaves out what is hardly in view', () => {
    const layout = stripLayout('standard', 'feed', null)
    const cut = stripSolids(page(520, 300), laidAt('feed', UPRIGHT), layout)
    expect(cut.map(({ id }) => id)).toEqual(['strip-rail-1', 'strip-area-1'])
    expect(cut[0]!.first).toBeCloseTo(34, 9)
    expect(cut[0]!.x).toBeCloseTo(2 + 15.9 + 17, 9)
    expect(stripSolids(page(210, 300), laidAt('feed', UPRIGHT), layout)).toEqual([])
  })
})
