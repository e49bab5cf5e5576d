import { expect, it } from 'vitest'
import { formatLength, formatPlace } from '../../../src/report/format-place.js'

const plain = (text: string) => text.replace(/\u00a0/g, ' ')

it('counts a place from the top left corner in the site’s unit, each axis with its own dpi', () => {
  const place = { column: 599.5, row: 1199.5 }
  expect(plain(formatPlace(place, { across: 600, along: 600 }, 'mm'))).toBe(
    '25.4 mm from the left, 50.8 mm from the top',
  )
  expect(plain(formatPlace(place, { across: 600, along: 1200 }, 'inch'))).toBe(
    '1.00 in from the left, 1.00 in from the top',
  )
})

it('writes a length to 0.1 mm or 0.01 in', () => {
  expect(plain(formatLength(12.345, 'mm'))).toBe('12.3 mm')
  expect(plain(formatLength(12.7, 'inch'))).toBe('0.50 in')
})
