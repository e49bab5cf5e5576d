import { describe, expect, it } from 'vitest'
import { bracketFromFileName, withoutBracketMark } from '../../../src/settings/bracket-name.js'

describe('bracketFromFileName', () => {
  it.each([
    ['front__bracket-1.tif', { bracket: 'front', of: null }],
    ['front__week-3__BRACKET-12.TIFF', { bracket: 'front__week-3', of: null }],
    ['front__bracket-1of3.tif', { bracket: 'front', of: 3 }],
    ['front__bracket-1of1.tif', { bracket: 'front', of: null }],
    ['front__bracket-.tif', null],
    ['front__bracket-100.tif', null],
    ['front__bracket-1-long.tif', null],
    ['__bracket-1.tif', null],
    ['front.tif', null],
  ])('%s', (name, wanted) => {
    expect(bracketFromFileName(name)).toEqual(wanted)
  })

  it('the mark is no part of the name of the positive', () => {
    expect(withoutBracketMark('front__week-3__bracket-2of3.tif')).toBe('front__week-3.tif')
    expect(withoutBracketMark('front__week-3.tif')).toBe('front__week-3.tif')
  })
})
