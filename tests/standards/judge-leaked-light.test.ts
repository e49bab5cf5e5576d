import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseJobType } from '../../src/settings/job-type-settings.js'
import { expectWithin } from '../support/expect-within.js'

describe('light leaked by the limits shipped: 10^-D (ISO 5-1, ISO 5-2)', () => {
  it.each([
    [1.5, 3.162e-2],
    [2, 1e-2],
    [2.5, 3.162e-3],
    [3, 1e-3],
    [3.5, 3.162e-4],
    [3.95, 1.122e-4],
    [4, 1e-4],
  ])('net density %d leaks %d (computed)', (density, leak) => {
    expectWithin(10 ** -density / leak, 1, { abs: 2e-4, unit: '', because: 'the leaks are given to four digits' })
  })

  it('no job type shipped lets a solid leak more than a thousandth, or its weakest place more than 1.6 thousandths', () => {
    for (const name of ['bold', 'fine-line', 'halftone', 'ladder']) {
      const text = readFileSync(new URL(`../../pipelines/${name}.yaml`, import.meta.url), 'utf8')
      const { solidDensity, solidDensityLowest } = parseJobType(text, name).limits
      expect(10 ** -(solidDensity?.min ?? 0), name).toBeLessThanOrEqual(1e-3)
      expect(10 ** -(solidDensityLowest?.min ?? 0), name).toBeLessThanOrEqual(1.6e-3)
    }
  })
})
