import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureSizeErrorFeed } from '../../../src/measure/size-error-feed.js'
import { artworkEvidence, FITTED } from '../../support/artwork-evidence.js'

describe('measureSizeErrorFeed', () => {
  it('takes the artwork’s columns, not its rows', () => {
    const feed = measureSizeErrorFeed(artworkEvidence(FITTED))
    if (!isReading(feed)) return expect.fail(feed.because)
    expect(feed.value).toBeCloseTo(-0.125, 12)
    expect(feed.method).toBe('sizeErrorFeed@1')
    expect(2 * Math.hypot(...feed.budget.map(part => part.standard))).toBeCloseTo(feed.expanded, 12)
  })

  it('says which of the two is missing', () => {
    const half = measureSizeErrorFeed(artworkEvidence({ ...FITTED, size: { ...FITTED.size, feed: null } }))
    expect(isReading(half) ? null : half.reading).toBe('sizeErrorFeed')
  })
})
