import { describe, expect, it } from 'vitest'
import { codeModules } from '../../../src/strip/code-modules.js'

describe('the modules of a code', () => {
  it('begin with the smallest symbol that holds the text', () => {
    expect(codeModules('1sks pier bold 720 a1b').size).toBe(26)
    expect(codeModules('a'.repeat(80)).size).toBe(32)
    expect(codeModules('a'.repeat(120)).size).toBe(36)
    expect(() => codeModules('a'.repeat(140))).toThrow('STRIP_CODE_TOO_LONG')
  })

  it('have the border ISO/IEC 16022 asks for: solid left and bottom, every other module dark on top and right', () => {
    const { size, dark } = codeModules('1sks pier bold 720 a1b')
    const at = (row: number, column: number) => dark[row * size + column]
    for (let i = 0; i < size; i++) {
      expect(at(i, 0)).toBe(1)
      expect(at(size - 1, i)).toBe(1)
      expect(at(0, i)).toBe(i % 2 === 0 ? 1 : 0)
      expect(at(i, size - 1)).toBe(i % 2 === 1 ? 1 : 0)
    }
  })
})
