import { describe, expect, it } from 'vitest'
import { LETTER_HEIGHT, letterRows } from '../../../src/strip/block-letters.js'

describe('block letters', () => {
  it('has a letter of its own for everything a name may hold', () => {
    const letters = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 -_.,+()%/:~?']
    const shapes = letters.map(letter => letterRows(letter).join())
    expect(new Set(shapes).size).toBe(letters.length)
    for (const letter of letters) {
      const rows = letterRows(letter)
      expect(rows.length === 7 || rows.length === LETTER_HEIGHT, letter).toBe(true)
      for (const row of rows) expect(row >= 0 && row < 32, letter).toBe(true)
    }
  })

  it('leaves accents out, and shows a question mark for what it does not have', () => {
    expect(letterRows('é')).toEqual(letterRows('e'))
    expect(letterRows('漢')).toEqual(letterRows('?'))
  })
})
