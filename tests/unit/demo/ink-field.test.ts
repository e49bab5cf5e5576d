import { describe, expect, it } from 'vitest'
import type { Film, Shape } from '../../../src/demo/film.js'
import { gaussianCdf } from '../../../src/demo/gaussian.js'
import { type InkField, inkField } from '../../../src/demo/ink-field.js'
import { expectWithin } from '../../support/expect-within.js'

const BASE = 0.05
const NET = 2

function film(shapes: readonly Shape[], more: Partial<Film> = {}): Film {
  return { widthMm: 20, heightMm: 20, baseDensity: BASE, netDensity: NET, inkSpreadUm: 12, shapes, ...more }
}

/** Ink amount at one place, looked at in a piece of 0.2 mm about it. */
function inkAt(field: InkField, u: number, v: number): number {
  const piece = field.piece({ u, v, reachU: 0.1, reachV: 0.1 })
  const out = new Float64Array(1)
  piece.fill(out, 0, 1, u, v, 0.01, 0)
  if (piece.light !== null) expectWithin(piece.light, out[0]!, { abs: 1e-7, unit: 'T', because: 'the same piece' })
  return (-Math.log10(out[0]!) - BASE) / NET
}

const field = (shapes: readonly Shape[], more: Partial<Film> = {}) => inkField(film(shapes, more), 0.007, 0, 3)
const fine = { abs: 2e-6, unit: 'ink', because: 'tables are linear between steps of 1/256 sigma' }

describe('ink of shapes', () => {
  it('a rectangle is a product of differences of the normal distribution', () => {
    const small = field([{ kind: 'rectangle', u: 5, v: 5, width: 0.03, height: 0.05 }])
    const side = (x: number, from: number, to: number) =>
      gaussianCdf((x - from) / 0.012) - gaussianCdf((x - to) / 0.012)
    for (const [u, v] of [
      [5.015, 5.025],
      [5, 5],
      [5.04, 5.01],
      [4.99, 5.07],
    ] as const)
      expectWithin(inkAt(small, u, v), side(u, 5, 5.03) * side(v, 5, 5.05), fine)
  })

  it('two rectangles that touch are one', () => {
    const one = field([{ kind: 'rectangle', u: 5, v: 5, width: 4, height: 4 }])
    const two = field([
      { kind: 'rectangle', u: 5, v: 5, width: 1.7, height: 4 },
      { kind: 'rectangle', u: 6.7, v: 5, width: 2.3, height: 4 },
    ])
    for (const [u, v] of [
      [6.7, 7],
      [6.71, 5.005],
      [6.69, 9],
      [5, 5],
    ] as const)
      expectWithin(inkAt(two, u, v), inkAt(one, u, v), fine)
  })

  it('ink never passes 1 where shapes lie on each other', () => {
    const twice = field([
      { kind: 'rectangle', u: 5, v: 5, width: 4, height: 4 },
      { kind: 'rectangle', u: 6, v: 6, width: 4, height: 4 },
    ])
    expectWithin(inkAt(twice, 7, 7), 1, fine)
    expectWithin(inkAt(twice, 6, 7), 1, fine)
  })

  it('a turned rectangle is the rectangle turned', () => {
    const upright = field([{ kind: 'rectangle', u: 5, v: 7, width: 4, height: 1 }])
    const turned = field([{ kind: 'rectangle', u: 5, v: 7, width: 4, height: 1, turn: 30 }])
    const [c, s] = [Math.cos(Math.PI / 6), Math.sin(Math.PI / 6)]
    for (const [a, b] of [
      [1.99, 0.2],
      [2.01, -0.49],
      [0, 0.51],
      [-1, -0.5],
    ] as const)
      expectWithin(inkAt(turned, 7 + a * c - b * s, 7.5 + a * s + b * c), inkAt(upright, 7 + a, 7.5 + b), fine)
  })

  it('T23: a clear disc of 10 and 25 um under 12 um keeps 0.29335 and 0.88584 of its contrast at the middle', () => {
    for (const [radius, wanted] of [
      [0.01, 0.29335],
      [0.025, 0.88584],
    ] as const)
      expectWithin(inkAt(field([{ kind: 'disc', u: 9, v: 9, radius }]), 9, 9), wanted, {
        abs: 1e-5,
        unit: '',
        because: 'printed to 0.00001',
      })
  })

  it.each([0.012, 0.05, 0.18, 3])('a disc of %d mm agrees with a plain double sum off its middle', radius => {
    const disc = field([{ kind: 'disc', u: 9, v: 9, radius }])
    for (const off of [-0.02, -0.006, 0, 0.011, 0.03]) {
      const r = Math.max(0, radius + off)
      // Rows of the disc weighted by the Gaussian across them; the chord along each row in closed form.
      const n = 40_000
      let sum = 0
      const low = Math.max(-radius, r - 0.1)
      const high = Math.min(radius, r + 0.1)
      const step = (high - low) / n
      for (let i = 0; i < n; i++) {
        const x = low + (i + 0.5) * step
        const chord = Math.sqrt(radius * radius - x * x) / 0.012
        const z = (x - r) / 0.012
        sum += (Math.exp((-z * z) / 2) * (2 * gaussianCdf(chord) - 1) * step) / 0.012
      }
      expectWithin(inkAt(disc, 9 + r, 9), sum / Math.sqrt(2 * Math.PI), {
        abs: 2e-5,
        unit: 'ink',
        because: 'radial table of 1024 steps',
      })
    }
  })

  it('dots add up to the tone of their screen, and only whole dots are laid', () => {
    const pitch = 0.5
    const radius = pitch * Math.sqrt(0.3 / Math.PI)
    const dots = { kind: 'dots', u: 4, v: 4, width: 8, height: 8, pitch, angle: 22.5, radius } as const
    const tint = field([dots])
    let sum = 0
    const n = 200
    const [c, s] = [Math.cos(Math.PI / 8), Math.sin(Math.PI / 8)]
    // One whole cell of the screen, sampled along its own axes.
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const a = (i / n) * pitch
        const b = (j / n) * pitch
        sum += inkAt(tint, 8 + a * c - b * s, 8 + a * s + b * c)
      }
    expectWithin(sum / (n * n), 0.3, { abs: 1e-5, unit: 'ink', because: 'blur moves ink and makes none' })
    for (let u = 3.9; u < 12.1; u += 0.013) {
      expectWithin(inkAt(tint, u, 3.94), 0, { abs: 1e-6, unit: 'ink', because: '5 sigma outside the rectangle' })
      expectWithin(inkAt(tint, 12.06, u), 0, { abs: 1e-6, unit: 'ink', because: '5 sigma outside the rectangle' })
    }
  })

  it('a smaller view of the field shows the same', () => {
    const whole = field([
      { kind: 'rectangle', u: 5, v: 5, width: 4, height: 4 },
      { kind: 'disc', u: 15, v: 15, radius: 2 },
    ])
    const view = whole.within({ u: 5, v: 5, reachU: 1, reachV: 1 })
    for (const [u, v] of [
      [5, 5],
      [5.01, 5.5],
      [4.5, 4.5],
    ] as const)
      expect(inkAt(view, u, v)).toBe(inkAt(whole, u, v))
  })
})

describe('edges cut in light (ink spread 0)', () => {
  it('a cell half covered passes half the light', () => {
    const cut = inkField(film([{ kind: 'rectangle', u: 5, v: 5, width: 4, height: 4 }], { inkSpreadUm: 0 }), 0.01, 0, 1)
    const out = new Float64Array(3)
    cut.piece({ u: 5, v: 7, reachU: 0.1, reachV: 0.1 }).fill(out, 0, 3, 4.9975, 7, 0.0025, 0)
    const clear = 10 ** -BASE
    const solid = 10 ** -(BASE + NET)
    expectWithin(out[0]!, clear + 0.25 * (solid - clear), { abs: 1e-9, unit: 'T', because: 'area' })
    expectWithin(out[1]!, (clear + solid) / 2, { abs: 1e-9, unit: 'T', because: 'area' })
    expectWithin(out[2]!, clear + 0.75 * (solid - clear), { abs: 1e-9, unit: 'T', because: 'area' })
  })

  it('at a slant the share is the area of the cell beyond the edge', () => {
    const cell = 0.01
    for (const turn of [7, 30, 45, 80]) {
      const cut = inkField(
        film([{ kind: 'rectangle', u: 5, v: 0, width: 9, height: 20 }], { inkSpreadUm: 0 }),
        cell,
        turn,
        1,
      )
      for (const distance of [-0.005, -0.002, 0, 0.003, 0.0061]) {
        const out = new Float64Array(1)
        cut.piece({ u: 5, v: 10, reachU: 0.1, reachV: 0.1 }).fill(out, 0, 1, 5 + distance, 10, 0, 0)
        const share = (out[0]! - 10 ** -BASE) / (10 ** -(BASE + NET) - 10 ** -BASE)
        const [c, s] = [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)]
        let inside = 0
        const n = 400
        for (let i = 0; i < n; i++)
          for (let j = 0; j < n; j++)
            if (distance + (((i + 0.5) / n - 0.5) * c + ((j + 0.5) / n - 0.5) * s) * cell > 0) inside++
        expectWithin(share, inside / (n * n), { abs: 2e-3, unit: '', because: `${n} x ${n} yes/no points` })
      }
    }
  })
})

describe('ripple of the ink', () => {
  const solid: Shape = { kind: 'rectangle', u: 0, v: 0, width: 20, height: 20 }
  const along = (more: Partial<Film>, count: number) => {
    const out = new Float64Array(count)
    const piece = field([solid], more).piece({ u: 10, v: 10, reachU: 8, reachV: 8 })
    expect(piece.even).toBe(true)
    expect(piece.light).toBeNull()
    piece.fill(out, 0, count, 10, 4, 0, 12 / count)
    return Array.from(out, t => (-Math.log10(t) - BASE) / NET - 1)
  }

  it('banding is a sine of the asked amplitude and pitch along the feed', () => {
    const banding = { amplitude: 0.04, pitchMm: 2 }
    const ink = along({ banding }, 600)
    for (let i = 0; i < 600; i++)
      expectWithin(ink[i]!, 0.04 * Math.sin(Math.PI * (4 + i * 0.02)), {
        abs: 4e-4,
        unit: 'ink',
        because: 'drawn straight over a 24th of the pitch: 1 % of the amplitude',
      })
  })

  it('grain has about the asked rms and forgets over its correlation length', () => {
    const grain = { rms: 0.02, correlationUm: 50 }
    const ink = along({ grain }, 6000)
    const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length
    const variance = mean(ink.map(x => x * x))
    expectWithin(Math.sqrt(variance), 0.02, {
      abs: 0.005,
      unit: 'ink',
      because: 'one line of 240 lengths; straightened',
    })
    // 0.5 mm, ten lengths, on.
    const far = mean(ink.slice(250).map((x, i) => x * ink[i]!))
    expectWithin(far / variance, 0, { abs: 0.25, unit: '', because: '240 lengths' })
  })

  it('raggedness moves edges and leaves solid and clear alone', () => {
    const shapes: Shape[] = [{ kind: 'rectangle', u: 10, v: 0, width: 8, height: 20 }]
    const rag = field(shapes, { raggedness: { rmsUm: 6, correlationUm: 80 } })
    const shifts: number[] = []
    for (let v = 1; v < 19; v += 0.05) {
      let low = 9.9
      let high = 10.1
      for (let i = 0; i < 30; i++) {
        const u = (low + high) / 2
        if (inkAt(rag, u, v) < 0.5) low = u
        else high = u
      }
      shifts.push(low - 10)
    }
    const rms = Math.sqrt(shifts.reduce((a, b) => a + b * b, 0) / shifts.length)
    expectWithin(rms * 1000, 6, { abs: 1.5, unit: 'um', because: '225 lengths along the edge' })
    expectWithin(inkAt(rag, 14, 10), 1, fine)
    expectWithin(inkAt(rag, 5, 10), 0, fine)
  })

  it.each([4, 12, 30])('a disc wanders by its raggedness about its own edge, ink spread %d um', inkSpreadUm => {
    const shapes: Shape[] = [{ kind: 'disc', u: 9, v: 9, radius: 2.2 }]
    const rag = field(shapes, { inkSpreadUm, raggedness: { rmsUm: 4.8, correlationUm: 100 } })
    const shifts: number[] = []
    for (let degrees = 0; degrees < 360; degrees += 2) {
      const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)]
      let low = 2.1
      let high = 2.3
      for (let i = 0; i < 30; i++) {
        const r = (low + high) / 2
        if (inkAt(rag, 9 + r * c, 9 + r * s) > 0.5) low = r
        else high = r
      }
      shifts.push((low - 2.2) * 1000)
    }
    // Outwards of six sigma and the furthest wander (six times its rms) there is no ink, as on any disc.
    for (let r = 2.2 + 0.006 * inkSpreadUm + 0.0288; r < 2.45; r += 0.002) expectWithin(inkAt(rag, 9 + r, 9), 0, fine)
    for (let r = 2.2; r < 2.45; r += 0.002) expect(inkAt(rag, 9, 9 + r)).toBeLessThanOrEqual(1 + 2e-6)
    const rms = Math.sqrt(shifts.reduce((a, b) => a + b * b, 0) / shifts.length)
    expectWithin(rms, 4.8, { abs: 1, unit: 'um', because: '138 lengths round the disc' })
    const mean = shifts.reduce((a, b) => a + b, 0) / shifts.length
    expectWithin(mean, 0, { abs: 1.4, unit: 'um', because: 'four standard errors of 138 lengths at most' })
  })
})
