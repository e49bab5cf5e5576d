import { expect, it } from 'vitest'
import { verdictShape } from '../../../src/report/verdict-shape.js'

it('has one shape a verdict, drawn in the ink of its text and hidden from readers of words', () => {
  const shapes = (['pass', 'fail', 'recheck'] as const).map(verdict => verdictShape(verdict).toHTML())
  expect(new Set(shapes).size).toBe(3)
  for (const shape of shapes) {
    expect(shape).toContain('aria-hidden="true"')
    expect(shape).toContain('currentColor')
  }
})
