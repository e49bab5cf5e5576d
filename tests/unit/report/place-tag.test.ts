import { expect, it } from 'vitest'
import { placeTag } from '../../../src/report/place-tag.js'

it('shortens the ids of measured places and leaves others', () => {
  expect(
    ['solid-3', 'thin-2', 'edge-17', 'base-1', 'strip-edge-7', 'strip-tint-2', 'film', 'patch-4', '<b>-1'].map(
      placeTag,
    ),
  ).toEqual(['S3', 'T2', 'E17', 'B1', 'CE7', 'CP2', 'film', 'patch-4', '<b>-1'])
})
