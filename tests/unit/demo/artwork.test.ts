import { describe, expect, it } from 'vitest'
import { blockText, frame, registerMark, textWidth, tint } from '../../../src/demo/artwork.js'

describe('artwork', () => {
  it('letters stand inside the width they say they take', () => {
    for (const text of ['HARBOUR', 'REGATTA', 'TIDE 07', 'I', 'PILOT-21']) {
      const strokes = blockText(text, 10, 5, 8)
      const upright = strokes.filter(stroke => (stroke.turn ?? 0) === 0)
      expect(Math.min(...upright.map(s => s.u))).toBeGreaterThanOrEqual(10 - 1e-9)
      expect(Math.max(...upright.map(s => s.u + s.width))).toBeLessThanOrEqual(10 + textWidth(text, 8) + 1e-9)
      expect(Math.min(...upright.map(s => s.v))).toBeGreaterThanOrEqual(5 - 1e-9)
      expect(Math.max(...upright.map(s => s.v + s.height))).toBeLessThanOrEqual(13 + 1e-9)
    }
    expect(() => blockText('JUG', 0, 0, 5)).toThrow('got J')
  })

  it('upright strokes of a letter do not lie on each other', () => {
    for (const letter of 'ABCDEFGHIKLMNOPRSTUVWYZ0123456789-') {
      const strokes = blockText(letter, 0, 0, 8).filter(stroke => (stroke.turn ?? 0) === 0)
      for (let i = 0; i < strokes.length; i++)
        for (let j = 0; j < i; j++) {
          const [a, b] = [strokes[i]!, strokes[j]!]
          const across = Math.min(a.u + a.width, b.u + b.width) - Math.max(a.u, b.u)
          const down = Math.min(a.v + a.height, b.v + b.height) - Math.max(a.v, b.v)
          expect(Math.min(across, down), `${letter}: strokes ${j} and ${i}`).toBeLessThan(1e-9)
        }
    }
  })

  it('tints are dark dots in clear or clear dots in a solid', () => {
    const area = (tone: number) => {
      const [first, second] = tint(0, 0, 10, 10, 50, 22.5, tone)
      const dots = second ?? first!
      if (dots.kind !== 'dots') throw new Error('no dots')
      const share = (Math.PI * dots.radius ** 2) / dots.pitch ** 2
      expect(dots.radius).toBeLessThan(dots.pitch / 2)
      return second === undefined ? share : 1 - share
    }
    for (const tone of [0.03, 0.3, 0.6, 0.61, 0.95]) expect(area(tone)).toBeCloseTo(tone, 12)
    for (const tone of [0, 0.951, Number.NaN]) expect(() => tint(0, 0, 10, 10, 50, 22.5, tone)).toThrow('tone')
  })

  it('frames and register marks are made of strokes as wide as asked', () => {
    expect(frame(0, 0, 10, 6, 0.5).reduce((sum, s) => sum + s.width * s.height, 0)).toBeCloseTo(2 * 5 + 2 * 2.5, 9)
    expect(registerMark(0, 0, 1.5, 0.1)).toHaveLength(5)
  })
})
