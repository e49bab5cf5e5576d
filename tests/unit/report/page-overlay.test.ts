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

it('names only edges and the worst places when names would hide the picture', async () => {
  const { inspection, measured } = await sampleInspection('fail')
  const many = Array.from({ length: 60 }, (_, i) => ({ ...measured.outlines[2]!, id: `base-${i + 1}` }))
  const names = pageOverlay({ ...measured, outlines: many }, worstPlaces(inspection)).tags.map(tag => tag.text)
  expect(names).toHaveLength(10)
  expect(names.every(name => name.startsWith('E'))).toBe(true)
})

it('shows a patch too small to be outlined as a mark: a square for a solid, a ring for base', async () => {
  const { measured } = await sampleInspection('fail')
  const corners = [0, 1, 2, 3].map(i => ({
    column: 500 + 24 * (i === 1 || i === 2 ? 1 : 0),
    row: 500 + 24 * (i > 1 ? 1 : 0),
  }))
  const small = [
    { id: 'thin-1', kind: 'solid' as const, corners },
    { id: 'base-1', kind: 'base' as const, corners },
  ]
  const svg = pageOverlay({ ...measured, outlines: small, edges: [] }, []).lines.toHTML()
  expect(svg).toMatch(/<rect class="solid mark" x="479.8" y="479.8" width="64.5"/)
  expect(svg).toMatch(/<circle class="base mark" cx="512.0" cy="512.0" r="32.2"/)
  expect(svg).not.toContain('polygon')
})

it('lets no id into the markup', async () => {
  const { measured } = await sampleInspection('fail')
  const hostile = { ...measured.outlines[0]!, id: '"><script>' }
  expect(pageOverlay({ ...measured, outlines: [hostile] }, []).lines.toHTML()).not.toContain('script')
})
