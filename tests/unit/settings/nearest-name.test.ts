import { describe, expect, it } from 'vitest'
import { nearestName } from '../../../src/settings/nearest-name.js'

describe('nearestName', () => {
  const known = ['riseWidth', 'riseWidthWorst', 'raggedness', 'min', 'max']
  it.each([
    ['riseWidht', 'riseWidth'],
    ['risewidth', 'riseWidth'],
    ['ragednes', 'raggedness'],
    ['maxx', 'max'],
    ['mni', 'min'],
  ])('finds the name meant by %s', (wrong, right) => {
    expect(nearestName(wrong, known)).toBe(right)
  })

  it('is silent when nothing is near', () => {
    expect(nearestName('temperature', known)).toBeNull()
    expect(nearestName('aim', ['pitch'])).toBeNull()
    expect(nearestName('anything', [])).toBeNull()
  })

  it('accepts a third of the letters wrong and refuses one more', () => {
    expect(nearestName('abcdxx', ['abcdef'])).toBe('abcdef')
    expect(nearestName('abcxxx', ['abcdef'])).toBeNull()
  })
})
