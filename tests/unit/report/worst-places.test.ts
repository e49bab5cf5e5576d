import { expect, it } from 'vitest'
import { worstPlaces } from '../../../src/report/worst-places.js'
import { sampleInspection } from '../../support/sample-inspection.js'

it('takes the lowest solid and the softest edge of a failed film, each place once, worst finding first', async () => {
  const { inspection } = await sampleInspection('fail')
  const places = worstPlaces(inspection)
  expect(places[0]).toMatchObject({ reading: 'solidDensityLowest', verdict: 'fail', part: { id: 'solid-4' } })
  expect(places[1]).toMatchObject({ reading: 'riseWidthWorst', verdict: 'fail', part: { id: 'edge-7' } })
  expect(new Set(places.map(place => place.part.id)).size).toBe(places.length)
})

it('has nothing to show where nothing was measured', async () => {
  const { inspection } = await sampleInspection('uncalibrated')
  expect(worstPlaces({ ...inspection, readings: {} })).toEqual([])
})
