import { describe, expect, it } from 'vitest'
import { type EdgeValue, middleOfEdges, type SharedEffect } from '../../../src/measure/combine-edges.js'

const shared = (source: string, effect: number): SharedEffect => ({
  name: source.split(',')[0]!,
  source,
  effect,
  type: 'B',
  input: { standard: Math.abs(effect), unit: 'um' },
  degreesOfFreedom: null,
})

const edge = (value: number, bound: 'atMost' | null = null): EdgeValue =>
  ({
    edge: { id: `edge-${value}`, spread: { from: { column: 0, row: 0 }, to: { column: 2, row: 4 } } },
    value,
    own: [{ name: 'noise', standard: 1, type: 'A', degreesOfFreedom: 200 }],
    shared: [shared('scanner', 0.5)],
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

  it('adds effects of one source as they are signed, those of different sources in squares', () => {
    const of = (...effects: SharedEffect[][]) =>
      middleOfEdges(
        effects.map(list => ({ ...edge(20), shared: list })),
        'm@1',
      ).budget.find(c => c.name === 'size')!.standard
    const both = [shared('size, across', 1)]
    expect(of(both, both)).toBeCloseTo(1, 12)
    expect(of([shared('size, across', 1)], [shared('size, along', 1)])).toBeCloseTo(Math.SQRT1_2, 12)
    expect(of([shared('size, across', 1)], [shared('size, across', -1)])).toBe(0)
  })

  it('tells the degrees of freedom of a scatter and widens U for them', () => {
    const few = middleOfEdges([edge(10), edge(18), edge(22), edge(30)], 'm@1')
    expect(few.degreesOfFreedom).toBeCloseTo(3, 0)
    expect(few.coverageFactor).toBeGreaterThan(3)
    expect(few.expanded).toBeCloseTo(few.coverageFactor! * few.standard!, 12)
    const many = middleOfEdges([edge(20), edge(20), edge(20)], 'm@1')
    expect(many.coverageFactor).toBe(2)
  })
})
