import { describe, expect, it } from 'vitest'
import { formatAge, formatDay, formatTime } from '../../../src/report/format-time.js'

describe('formatTime', () => {
  it('keeps the clock it was written with', () => {
    expect(formatTime('2025-03-04T09:12:31')).toBe('2025-03-04 09:12')
    expect(formatTime('2025-03-04T09:12:31.250Z')).toBe('2025-03-04 09:12 UTC')
    expect(formatTime('2025-03-04T09:12+01:00')).toBe('2025-03-04 09:12 +01:00')
  })
  it('gives back what it does not know', () => {
    expect(formatTime('yesterday')).toBe('yesterday')
    expect(formatDay('yesterday')).toBe('yesterday')
    expect(formatDay('2025-03-04T09:12:31Z')).toBe('2025-03-04')
  })
})

describe('formatAge', () => {
  const now = new Date('2025-03-04T12:00:00Z')
  const ago = (minutes: number) => formatAge(new Date(now.getTime() - minutes * 60_000).toISOString(), now)
  it('takes the largest unit that fits', () => {
    expect(ago(1)).toBe('just now')
    expect(ago(2)).toBe('2 min ago')
    expect(ago(119)).toBe('119 min ago')
    expect(ago(120)).toBe('2 h ago')
    expect(ago(47 * 60)).toBe('47 h ago')
    expect(ago(48 * 60)).toBe('2 days ago')
    expect(ago(61 * 1440)).toBe('2 months ago')
    expect(ago(800 * 1440)).toBe('2 years ago')
  })
  it('says so when the clock is wrong or the date is none', () => {
    expect(ago(-4)).toBe('just now')
    expect(ago(-6)).toBe('dated in the future')
    expect(formatAge('yesterday', now)).toBe('age unknown')
  })
})
