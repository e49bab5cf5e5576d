import { expect, it } from 'vitest'
import { fittedArtwork } from '../../../src/measure/fitted-artwork.js'
import { artworkEvidence } from '../../support/artwork-evidence.js'

it('says why a film cannot be held against an artwork: none, unreadable, another', () => {
  expect(fittedArtwork(artworkEvidence(undefined), 'missingInk')).toMatchObject({
    reading: 'missingInk',
    notAsked: true,
  })
  const unreadable = fittedArtwork(artworkEvidence(null), 'extraInk')
  expect(unreadable).toMatchObject({ reading: 'extraInk', because: 'the artwork could not be read' })
  expect(unreadable).not.toHaveProperty('notAsked')
  const other = { kind: 'other', because: 'not this one', next: 'look', likeness: 0.1 } as const
  expect(fittedArtwork(artworkEvidence(other), 'sizeErrorFeed')).toMatchObject({
    because: 'not this one',
    next: 'look',
  })
})
