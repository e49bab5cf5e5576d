import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { GaugeStudy, StudyTolerance, StudyValue } from '../../../src/model/gauge-study.js'
import { gaugeStudy } from '../../../src/trend/gauge-study.js'
import { expectWithin } from '../../support/expect-within.js'
import { simulatedStudy } from '../../support/simulated-study.js'

const SIZE = { parts: 6, operators: 3, repeats: 3 }
const SIGMA = { part: 1, operator: 0.2, interaction: 0.1, repeat: 0.15 }
const one = (seed: number, mean = 0) => simulatedStudy(seed, SIZE, SIGMA, mean)
const seeds = fc.integer({ min: 0, max: 2 ** 31 })
const variances = ({ components: c }: GaugeStudy) =>
  [c.repeatability, c.reproducibility, c.operator, c.interaction, c.gauge, c.part, c.total].map(x => x?.variance ?? 0)
const shares = ({ components: c }: GaugeStudy) =>
  [c.repeatability, c.reproducibility, c.gauge, c.part].map(x => x!.studyVariationPercent)

function expectClose(found: readonly number[], wanted: readonly number[], relative: number): void {
  const scale = Math.max(...wanted.map(Math.abs))
  for (const [i, value] of found.entries())
    expectWithin(value, wanted[i]!, { abs: relative * scale, unit: '', because: 'rounding of float64 sums' })
}

describe('relations that hold for any study', () => {
  it('a constant on all values changes nothing but the mean', () => {
    fc.assert(
      fc.property(seeds, fc.integer({ min: -5000, max: 5000 }), (seed, constant) => {
        const plain = gaugeStudy(one(seed))
        const moved = gaugeStudy(one(seed).map(row => ({ ...row, value: row.value + constant })))
        expectClose(variances(moved), variances(plain), 1e-9)
        expectClose(shares(moved), shares(plain), 1e-9)
        expect(moved.distinctCategories).toBe(plain.distinctCategories)
        expectWithin(moved.mean - plain.mean, constant, { abs: 1e-9, unit: '', because: 'rounding' })
      }),
      { numRuns: 40 },
    )
  })

  it('a factor scales every variance by its square and no share', () => {
    fc.assert(
      fc.property(seeds, fc.double({ min: 0.001, max: 1000, noNaN: true }), fc.boolean(), (seed, k, turned) => {
        const factor = turned ? -k : k
        const plain = gaugeStudy(one(seed))
        const scaled = gaugeStudy(one(seed).map(row => ({ ...row, value: factor * row.value })))
        expectClose(
          variances(scaled),
          variances(plain).map(v => factor ** 2 * v),
          1e-9,
        )
        expectClose(shares(scaled), shares(plain), 1e-9)
        expectClose([scaled.gaugeInterval!.upper], [k * plain.gaugeInterval!.upper], 1e-9)
      }),
      { numRuns: 40 },
    )
  })

  it('the order of the rows never matters', () => {
    fc.assert(
      fc.property(
        seeds.chain(seed => fc.shuffledSubarray(one(seed), { minLength: 54 }).map(rows => ({ seed, rows }))),
        ({ seed, rows }) => {
          expect(gaugeStudy(rows)).toEqual(gaugeStudy(one(seed)))
        },
      ),
      { numRuns: 20 },
    )
  })

  it('variances add up, and none is below 0', () => {
    fc.assert(
      fc.property(seeds, seed => {
        const { components: c } = gaugeStudy(simulatedStudy(seed, SIZE, { ...SIGMA, operator: 0, interaction: 0 }))
        for (const part of [c.repeatability, c.reproducibility!, c.operator!, c.gauge, c.part])
          expect(part.variance).toBeGreaterThanOrEqual(0)
        expectClose([c.repeatability.variance + c.reproducibility!.variance], [c.gauge.variance], 1e-12)
        expectClose([c.gauge.variance + c.part.variance], [c.total.variance], 1e-12)
      }),
      { numRuns: 40 },
    )
  })
})

describe('studies simulated from known components', () => {
  const STUDIES = 300
  const size = { parts: 10, operators: 6, repeats: 3 }
  const sigma = { part: 1, operator: 0.5, interaction: 0.4, repeat: 0.3 }
  const studies = Array.from({ length: STUDIES }, (_, seed) => gaugeStudy(simulatedStudy(seed, size, sigma, 42)))

  it.each([
    ['repeatability', sigma.repeat ** 2, (s: GaugeStudy) => s.components.repeatability.variance],
    ['operator', sigma.operator ** 2, (s: GaugeStudy) => s.components.operator!.variance],
    ['interaction', sigma.interaction ** 2, (s: GaugeStudy) => s.components.interaction?.variance ?? 0],
    [
      'gauge',
      sigma.operator ** 2 + sigma.interaction ** 2 + sigma.repeat ** 2,
      (s: GaugeStudy) => s.components.gauge.variance,
    ],
    ['part', sigma.part ** 2, (s: GaugeStudy) => s.components.part.variance],
  ])('recovers the variance of the %s within its sampling error', (_name, wanted, of) => {
    const found = studies.map(of)
    const mean = found.reduce((a, b) => a + b, 0) / STUDIES
    const spread = Math.sqrt(found.reduce((a, v) => a + (v - mean) ** 2, 0) / (STUDIES - 1))
    expectWithin(mean, wanted, {
      abs: (3.5 * spread) / Math.sqrt(STUDIES),
      unit: '',
      because: '3.5 standard errors of the mean of 300 studies',
    })
    expect(spread / Math.sqrt(STUDIES)).toBeLessThan(0.05 * wanted)
  })

  it.each([
    [size, sigma],
    [
      { parts: 10, operators: 2, repeats: 2 },
      { part: 1, operator: 0.2, interaction: 0, repeat: 0.2 },
    ],
    [
      { parts: 10, operators: 3, repeats: 3 },
      { part: 1, operator: 0, interaction: 0, repeat: 0.2 },
    ],
  ])('the 90 %% interval of the gauge holds the truth about 90 times in 100: %j %j', (cells, known) => {
    const wanted = known.operator ** 2 + known.interaction ** 2 + known.repeat ** 2
    let held = 0
    for (let seed = 0; seed < STUDIES; seed++) {
      const { lower, upper } = gaugeStudy(simulatedStudy(seed, cells, known, 42)).gaugeInterval!
      if (lower ** 2 <= wanted && wanted <= upper ** 2) held++
    }
    // Three standard errors of a share of 0.9 in 300 are 0.052; over 1000 studies it was 0.881, 0.916 and 0.921.
    expectWithin(held / STUDIES, 0.9, { abs: 0.052, unit: '', because: 'three standard errors of the share' })
  })

  it('pools an interaction that is not there in most studies, and one that is there in none', () => {
    const without = Array.from({ length: 100 }, (_, seed) =>
      gaugeStudy(simulatedStudy(seed, size, { ...sigma, interaction: 0 })),
    )
    expect(without.filter(s => s.pooled).length).toBeGreaterThan(60)
    expect(studies.filter(s => s.pooled)).toHaveLength(0)
  })
})

describe('one operator only', () => {
  const study = gaugeStudy(simulatedStudy(7, { parts: 5, operators: 1, repeats: 3 }, SIGMA), { across: 'placement' })
  it('gives repeatability and parts, nothing in place of the rest, and says so', () => {
    expect(study.components).toMatchObject({ reproducibility: null, operator: null, interaction: null })
    expect(study.analysis).toMatchObject({ operator: null, interaction: null })
    expect(study.components.gauge.variance).toBe(study.components.repeatability.variance)
    expect(study.averageAndRange).toMatchObject({ appraiserVariation: null })
    expect(study.notes[0]).toMatch(/^Only one placement: this study shows repeatability and parts only\./)
  })
})

describe('the room a gauge has', () => {
  const rows = one(3, 10)
  const mean = gaugeStudy(rows).mean
  const of = (tolerance: StudyTolerance) => gaugeStudy(rows, { tolerance })

  it('two limits: six deviations against what lies between them', () => {
    const { room, components } = of({ min: 5, max: 15, aim: 12 })
    expect(room).toEqual({ width: 10, sigmas: 6, from: 'limits' })
    expectClose([components.gauge.tolerancePercent!], [60 * components.gauge.deviation], 1e-12)
  })

  it('one limit and an aim: three deviations against the way to the aim', () => {
    expect(of({ min: 5, aim: 12 }).room).toEqual({ width: 7, sigmas: 3, from: 'aim' })
    expect(of({ max: 15, aim: 12 }).room).toEqual({ width: 3, sigmas: 3, from: 'aim' })
  })

  it('one limit, no aim that keeps it: the way to the mean of the parts', () => {
    expect(of({ min: 5 }).room).toEqual({ width: mean - 5, sigmas: 3, from: 'mean' })
    expect(of({ max: 15, aim: 15 }).room).toEqual({ width: 15 - mean, sigmas: 3, from: 'mean' })
  })

  it('parts beyond the limit leave no room, and the verdict says so', () => {
    const study = of({ min: mean })
    expect(study.room).toBeNull()
    expect(study.components.gauge.tolerancePercent).toBeNull()
    expect(study.verdict).toMatchObject({ word: 'undecided', percent: null })
    expect(study.verdict.why).toMatch(/beyond the limit/)
  })

  it('an aim alone is no tolerance', () => {
    expect(of({ aim: 12 }).verdict.why).toMatch(/sets no limit/)
  })

  it.each([{ min: Number.NaN }, { max: Number.POSITIVE_INFINITY, min: 0 }, { min: 1, aim: Number.NaN }])(
    'refuses %j',
    tolerance => {
      expect(() => of(tolerance)).toThrow(/must be a finite number/)
    },
  )

  it('refuses limits the wrong way round, and takes the narrowest right one', () => {
    expect(() => of({ min: 2, max: 2 })).toThrow(/min must be below tolerance.max; got 2 and 2/)
    expect(of({ min: 2, max: 2.0001 }).verdict.word).toBe('poor')
  })
})

describe('data at the edge', () => {
  it('repeats that never differ: cannot tell, and no number in place of it', () => {
    const rows: StudyValue[] = one(1).map(row => ({ ...row, value: Number(row.part.slice(5)) + 0.1 }))
    const study = gaugeStudy(rows, { tolerance: { min: 0, max: 10 } })
    expect(study).toMatchObject({ distinctCategories: null, gaugeInterval: null, pooled: false })
    expect(study.analysis.interaction).toMatchObject({ f: null, p: null })
    expect(study.verdict.word).toBe('undecided')
    expect(JSON.stringify(study)).not.toMatch(/NaN/)
  })

  it('only the crossing differs: the scatter is all the gauge', () => {
    const rows = ['a', 'b'].flatMap(part =>
      ['x', 'y'].flatMap(operator =>
        [1, 2].map(repeat => ({ part, operator, repeat, value: (part === 'a') === (operator === 'x') ? 1 : 2 })),
      ),
    )
    const study = gaugeStudy(rows)
    expect(study.averageAndRange).toBeNull()
    expect(study.components.gauge.contributionPercent).toBe(100)
    expect(study.verdict.word).toBe('undecided')
  })

  it('no number of a study is NaN or infinite', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -2, max: 2 }), { minLength: 12, maxLength: 12 }),
        fc.boolean(),
        (values, limited) => {
          fc.pre(values.some(value => value !== values[0]))
          const rows = values.map((value, i) => ({
            part: `${i % 3}`,
            operator: `${Math.floor(i / 3) % 2}`,
            repeat: 1 + Math.floor(i / 6),
            value,
          }))
          const study = gaugeStudy(rows, limited ? { tolerance: { min: -5, max: 5 } } : {})
          for (const number of numbersIn(study)) expect(Number.isFinite(number)).toBe(true)
        },
      ),
      { numRuns: 200 },
    )
  })
})

function numbersIn(value: unknown): readonly number[] {
  if (typeof value === 'number') return [value]
  if (value === null || typeof value !== 'object') return []
  return Object.values(value).flatMap(numbersIn)
}
