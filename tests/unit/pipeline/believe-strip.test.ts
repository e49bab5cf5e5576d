import { describe, expect, it } from 'vitest'
import type { StripIdentity, StripLook } from '../../../src/model/strip.js'
import { believeStrip } from '../../../src/pipeline/believe-strip.js'

const IDENTITY: StripIdentity = {
  positive: 'p-1',
  jobType: 'halftone',
  dpi: { across: 720, along: 720 },
  form: 'short',
  laid: 'head',
  tints: 'screened',
}
const look = (identity: Partial<StripIdentity>): StripLook => ({
  identity: { ...IDENTITY, ...identity },
  found: 1,
  refused: null,
})
const TYPES = ['halftone', 'bold']

describe('believeStrip', () => {
  it('takes the word of a strip that names a job type there is, or none', () => {
    expect(believeStrip(look({}), TYPES)).toEqual(look({}))
    expect(believeStrip(look({ jobType: '' }), TYPES).identity).not.toBeNull()
    const nothing = { identity: null, found: 0, refused: null }
    expect(believeStrip(nothing, TYPES)).toBe(nothing)
  })

  it('refuses an unknown job type, and names the nearest', () => {
    const refused = believeStrip(look({ jobType: 'halftne' }), TYPES)
    expect(refused.identity).toBeNull()
    expect(refused.refused).toBe(
      'it names the job type "halftne", and there is none of that name (the nearest is halftone)',
    )
  })

  it.each(['..', 'a/b', 'C:\\x', 'con', 'a\u0000b', '<b>x</b>'.repeat(40)])(
    'refuses %j as a name for files',
    positive => {
      expect(believeStrip(look({ positive }), TYPES)).toEqual({
        identity: null,
        found: 1,
        refused: 'the positive it names cannot be a file’s name',
      })
    },
  )
})
