import { describe, expect, it } from 'vitest'
import { unpackSamples } from '../../../src/decode/unpack-samples.js'

const bytesOf = (codes: number[]): Uint8Array => new Uint8Array(Uint16Array.from(codes).buffer)

describe('unpackSamples', () => {
  const plain = { bits: 16, samples: 1, sample: 0, differenced: false, turned: false } as const

  it('takes the wanted columns of the wanted sample', () => {
    const into = new Uint16Array(4)
    const bytes = bytesOf([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18])
    unpackSamples(bytes, 3, 2, { ...plain, samples: 3, sample: 2 }, 1, 2, into, 0, 2)
    expect([...into]).toEqual([6, 9, 15, 18])
  })

  it('undoes the predictor of each sample for itself, past 65535, even for columns left out', () => {
    const into = new Uint16Array(2)
    const how = { ...plain, samples: 2, sample: 1, differenced: true }
    unpackSamples(bytesOf([9, 65_000, 9, 1000, 9, 5]), 3, 1, how, 1, 2, into, 0, 2)
    expect([...into]).toEqual([464, 469])
  })

  it('8 bits: full scale is full scale, differences run round at 256, turning is exact', () => {
    const into = new Uint16Array(3)
    const eight = { ...plain, bits: 8 } as const
    unpackSamples(Uint8Array.of(0, 1, 255), 3, 1, eight, 0, 3, into, 0, 3)
    expect([...into]).toEqual([0, 257, 65535])
    unpackSamples(Uint8Array.of(250, 10, 1), 3, 1, { ...eight, differenced: true }, 0, 3, into, 0, 3)
    expect([...into]).toEqual([250 * 257, 4 * 257, 5 * 257])
    unpackSamples(Uint8Array.of(0, 1, 255), 3, 1, { ...eight, turned: true }, 0, 3, into, 0, 3)
    expect([...into]).toEqual([65535, 65278, 0])
  })

  it('leaves a stride between rows', () => {
    const into = new Uint16Array(6)
    unpackSamples(bytesOf([1, 2, 3, 4]), 2, 2, plain, 0, 2, into, 1, 3)
    expect([...into]).toEqual([0, 1, 2, 0, 3, 4])
  })
})
