import { expect, it } from 'vitest'
import { pageOverlay } from '../../../src/report/page-overlay.js'
import { worstPlaces } from '../../../src/report/worst-places.js'
import { sampleInspection } from '../../support/sample-inspection.js'

it('outlines every place, names solids, base and edges, and rings the worst', async () => {
  const { inspection, measured } = await sampleInspection('fail')
  const overlay = pageOverlay(measured, worstPlaces(inspection))
  const svg = overlay.lines.toHTML()
  expect(svg.match(/class="solid"/g)).toHaveLength(5)
  expect(svg.match(/class="edge"/g)).toHaveLength(10)
  expect(svg.match(/class="worst"/g)).toHaveLength(2)
  expect(
    overlay.tags
      .filter(tag => tag.worst)
      .map(tag => tag.text)
      .sort(),
  ).toEqual(['E7', 'S4'])
  expect(overlay.tags).toHaveLength(5 + 3 + 10)
  expect(overlay.kinds.map(kind => kind.kind)).toEqual(['openLight', 'film', 'base', 'solid', 'edge'])
})

it('names only the worst places when names would hide the picture', async () => {
  const { inspection, measured } = await sampleInspection('fail')
  const many = Array.from({ length: 60 }, (_, i) => ({ ...measured.outlines[2]!, id: `base-${i + 1}` }))
  const overlay = pageOverlay({ ...measured, outlines: many }, worstPlaces(inspection))
  expect(overlay.tags.every(tag => tag.worst)).toBe(true)
})

it('lets no id into the markup', async () => {
  const { measured } = await sampleInspection('fail')
  const hostile = { ...measured.outlines[0]!, id: '"><script>' }
  expect(pageOverlay({ ...measured, outlines: [hostile] }, []).lines.toHTML()).not.toContain('script')
})
