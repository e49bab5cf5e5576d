import { describe, expect, it } from 'vitest'
import { evenBlur } from '../../../src/compare/even-blur.js'
import type { StrokeScan } from '../../../src/compare/pair-strokes.js'
import type { MeasuredStroke } from '../../../src/measure/measure-stroke.js'
import {
  fitStroke,
  halfLightWidth,
  type LightNodes,
  type StrokeModel,
  seenStroke,
} from '../../../src/measure/stroke-model.js'
import { expectWithin } from '../../support/expect-within.js'

const MODEL: StrokeModel = { kind: 'line', width: 400, sigma: 20, clear: 0.9, net: 3.2 }
const STROKE = { kind: 'line', x: 0, y: 0, tx: 0, ty: 1, length: 2000, width: 440, room: 2000 } as const

/** A Gaussian scanner. */
function gaussian(sigma: number): LightNodes {
  const offsets = Float64Array.from({ length: 81 }, (_, i) => ((i - 40) / 10) * sigma)
  const raw = offsets.map(x => Math.exp(-((x / sigma) ** 2) / 2))
  const sum = raw.reduce((a, b) => a + b, 0)
  return { offsets, weights: raw.map(w => w / sum) }
}

function varianceOf({ offsets, weights }: LightNodes): number {
  let squares = 0
  for (let i = 0; i < offsets.length; i++) squares += weights[i]! * offsets[i]! ** 2
  return squares
}

function scanOf(nodes: LightNodes): StrokeScan {
  return {
    fieldAt: () => {
      throw new Error('nothing is read again')
    },
    nodes: () => ({ nodes: { ...nodes, rise: 0, riseError: 0 } as never, known: true }),
    clear: 0.9,
    net: MODEL.net,
  }
}

/** The stroke as a scanner shows it, with light of another shape added: `haze` of it under a Gaussian of 60 um instead. */
function measured(nodes: LightNodes, haze = 0): MeasuredStroke {
  const distance = Float64Array.from({ length: 181 }, (_, i) => (i - 90) * 5)
  const sharp = seenStroke(MODEL, nodes, distance, 0)
  const soft = seenStroke({ ...MODEL, sigma: 60 }, nodes, distance, 0)
  const light = sharp.map((value, i) => (1 - haze) * value + haze * soft[i]!)
  const profile = { distance, light, count: new Float64Array(181).fill(60), noise: 0.003, width: 440 }
  const fit = fitStroke('line', profile, nodes, MODEL.net, MODEL.clear, 25)!
  return { ...fit, x: 0, y: 0, nx: 1, ny: 0, lines: 80, profile, nodes }
}

describe('evenBlur', () => {
  const [sharp, soft] = [gaussian(15), gaussian(32)]

  it('brings the sharper scan to the blurrier scanner, whichever it is, and leaves the width what it was', () => {
    const truth = halfLightWidth(MODEL)!
    for (const [a, b, side] of [
      [sharp, soft, 'before'],
      [soft, sharp, 'after'],
    ] as const) {
      const pair = { stroke: STROKE, before: measured(a), after: measured(b) }
      const even = evenBlur(pair, scanOf(a), scanOf(b))
      const other = side === 'before' ? 'after' : 'before'
      expect(even[other]).toBe(pair[other])
      expectWithin(varianceOf(even[side].nodes), 32 ** 2, {
        abs: 4,
        unit: 'um2',
        because: 'variances add; sampled in sixths of a sigma, cut off at 3.5 sigma',
      })
      // The very profile that the blurrier scanner shows.
      const seen = seenStroke(MODEL, soft, even[side].profile.distance, 0)
      for (let i = 0; i < seen.length; i++)
        expectWithin(even[side].profile.light[i]!, seen[i]!, {
          abs: 1.5e-3,
          unit: 'T',
          because: 'a Gaussian cut off at 3.5 sigma',
        })
      expectWithin(even[side].halfWidth, truth, { abs: 0.1, unit: 'um', because: 'ink of the shape of the model' })
    }
  })

  it('makes what the model does not say of an edge weigh alike: haze is no growth between two scanners', () => {
    const pair = { stroke: STROKE, before: measured(sharp, 0.15), after: measured(soft, 0.15) }
    const even = evenBlur(pair, scanOf(sharp), scanOf(soft))
    const growth = (p: typeof pair | typeof even) => Math.abs(p.after.halfWidth - p.before.halfWidth) / 2
    expect(growth(even)).toBeLessThan(0.2)
    expect(growth(even)).toBeLessThan(growth(pair))
  })

  it('leaves scanners alone that blur alike', () => {
    const pair = { stroke: STROKE, before: measured(gaussian(15)), after: measured(gaussian(15.05)) }
    expect(evenBlur(pair, scanOf(gaussian(15)), scanOf(gaussian(15.05)))).toBe(pair)
  })
})
