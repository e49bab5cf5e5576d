import { expect, it } from 'vitest'
import { placeTag } from '../../../src/report/place-tag.js'

it('shortens the ids of measured places and leaves others', () => {
  expect(['solid-3', 'thin-2', 'edge-17', 'base-1', 'film', 'tint-4', '<b>-1'].map(placeTag)).toEqual([
    'S3',
    'T2',
    'E17',
    'B1',
    'film',
    'tint-4',
    '<b>-1',
  ])
})
