import { describe, expect, it } from 'vitest'
import { wayRound } from '../../../src/judge/way-round.js'

describe('wayRound', () => {
  it('doubts a film that shows otherwise than its side says', () => {
    expect(wayRound(true, false)?.why).toContain('shows mirrored on the scan; with its ink side down')
    expect(wayRound(false, true)?.why).toContain('reads the right way round on the scan; with its ink side up')
    expect(wayRound(true, false)?.code).toBe('wrongWayRound')
  })

  it.each([
    [false, false],
    [true, true],
    [null, false],
    [null, true],
    [true, null],
    [false, null],
  ])('has nothing to say of mirrored %s with the ink side up %s', (mirrored, inkSideUp) => {
    expect(wayRound(mirrored, inkSideUp)).toBeNull()
  })
})
