import { describe, expect, it } from 'vitest'
import { exitCode } from '../../../src/commands/exit-code.js'

describe('exitCode', () => {
  it.each([
    [[], 0],
    [['pass', 'pass'], 0],
    [['pass', 'recheck'], 2],
    [['recheck', 'notInspected'], 3],
    [['notInspected', 'fail', 'recheck'], 1],
    [['fail', 'fault', 'pass'], 70],
  ] as const)('%j gives %i', (endings, code) => {
    expect(exitCode(endings)).toBe(code)
    expect(exitCode([...endings].reverse())).toBe(code)
  })
})
