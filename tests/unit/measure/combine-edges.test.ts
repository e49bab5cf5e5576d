import { describe, expect, it } from 'vitest'
import { type EdgeValue, middleOfEdges } from '../../../src/measure/combine-edges.js'

const edge = (value: number, bound: 'atMost' | null = null): EdgeValue =>
  ({
    edge: { id: `edge-${value}`, spread: { from: { column: 0, row: 0 }, to: { column: 2, row: 4 } } },
    value,
    random: 1,
    shared: [{ name: 'scanner', standard: 0.5 }],
    bound,
  }) as unknown as EdgeValue

describe('middleOfEdges', () => {
  it('takes the middle value and adds what edges share in full', () => {
    const reading = middleOfEdges([edge(10), edge(30), edge(20)], 'riseWidth@1')
    expect(reading.value).toBe(20)
    expect(reading.bound).toBeNull()
    expect(reading.budget.map(c => c.name)).toEqual(['edges', 'scanner'])
    expect(reading.expanded).toBeGreaterThan(1)
  })

  it('is a bound when an edge known only as "at most" lies at or above the middle, and none when it lies below', () => {
    expect(middleOfEdges([edge(10), edge(20), edge(30, 'atMost')], 'm@1').bound).toBe('atMost')
    expect(middleOfEdges([edge(10), edge(20, 'atMost'), edge(30)], 'm@1').bound).toBe('atMost')
    expect(middleOfEdges([edge(10, 'atMost'), edge(20), edge(30)], 'm@1')).toMatchObject({ bound: null, value: 20 })
  })

  it('never calls a film sharp because half its edges are', () => {
    const half = middleOfEdges([edge(5, 'atMost'), edge(6, 'atMost'), edge(60), edge(70)], 'm@1')
    expect(half.value).toBe(33)
  })

  it('scatter between edges widens U', () => {
    const even = middleOfEdges([edge(20), edge(20), edge(20), edge(20)], 'm@1').expanded
    const uneven = middleOfEdges([edge(10), edge(18), edge(22), edge(30)], 'm@1').expanded
    expect(uneven).toBeGreaterThan(2 * even)
  })
})
