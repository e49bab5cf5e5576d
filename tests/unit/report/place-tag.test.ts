import { expect, it } from 'vitest'
import { placeTag } from '../../../src/report/place-tag.js'

it('shortens the ids of measured places and leaves others', () => {
  expect(['solid-3', 'edge-17', 'base-1', 'film', 'tint-4', '<b>-1'].map(placeTag)).toEqual([
    'S3',
    'E17',
    'B1',
    'film',
    'tint-4',
    '<b>-1',
  ])
})
