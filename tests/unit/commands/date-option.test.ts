import { describe, expect, it } from 'vitest'
import { dateOption } from '../../../src/commands/date-option.js'

describe('dateOption', () => {
  it.each([
    ['2026-12-31', '2026-12-31T00:00:00.000Z'],
    ['2028-02-29', '2028-02-29T00:00:00.000Z'],
    ['2026-12-31T10:00:05+02:00', '2026-12-31T08:00:05.000Z'],
  ])('takes %s', (text, iso) => {
    expect(dateOption(text)?.toISOString()).toBe(iso)
  })

  it.each([
    '',
    'soon',
    '31.12.2026',
    '2026-13-01',
    '2026-02-29',
    '2026-02-31T10:00',
    '2026-12-31 10:00',
    '2026-12-31T25:00',
  ])('refuses "%s"', text => {
    expect(dateOption(text)).toBeNull()
  })
})
