import { describe, expect, it } from 'vitest'
import { labelComponents } from '../../../src/imaging/label-components.js'

describe('labelComponents', () => {
  it('joins by corners and keeps apart what does not touch', () => {
    const marks = Uint8Array.from([1, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1])
    const { labels, groups } = labelComponents(marks, 4, 3)
    expect([...labels]).toEqual([1, 0, 0, 0, 2, 0, 3, 0, 0, 0, 0, 3].map((v, i) => (i === 4 ? 1 : v === 3 ? 2 : v)))
    expect(groups.map(g => g.cells)).toEqual([2, 2])
    expect(groups[1]).toMatchObject({ left: 2, right: 3, top: 1, bottom: 2 })
  })

  it('labels nothing on an empty grid and refuses a wrong size', () => {
    expect(labelComponents(new Uint8Array(6), 3, 2).groups).toEqual([])
    expect(() => labelComponents(new Uint8Array(5), 3, 2)).toThrow('marks must have 6 entries; got 5')
  })
})
