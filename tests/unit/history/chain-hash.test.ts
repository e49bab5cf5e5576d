import { createHash } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { CHAIN_BEGIN, chainHash } from '../../../src/history/chain-hash.js'

describe('chainHash', () => {
  it('is the SHA-256 of the canonical JSON, written out here by hand', () => {
    const text = `{"content":{"a":1,"b":"x"},"kind":"inspection","previous":"${'0'.repeat(64)}","seq":1}`
    const link = { seq: 1, kind: 'inspection', previous: CHAIN_BEGIN, content: { b: 'x', a: 1 } } as const
    expect(chainHash(link)).toBe(createHash('sha256').update(text).digest('hex'))
  })

  it('changes with the row, its place, its kind and the row before', () => {
    const link = { seq: 1, kind: 'inspection', previous: CHAIN_BEGIN, content: { a: 1 } } as const
    const hashes = [
      link,
      { ...link, seq: 2 },
      { ...link, kind: 'acceptance' as const },
      { ...link, previous: '1'.repeat(64) },
      { ...link, content: { a: 2 } },
    ].map(chainHash)
    expect(new Set(hashes).size).toBe(5)
  })
})
