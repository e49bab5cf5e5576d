import { describe, expect, it } from 'vitest'
import { tableLines } from '../../../src/commands/print-table.js'

describe('tableLines', () => {
  it('lines columns up, cuts what is too wide, and lets nothing steer the terminal', () => {
    expect(
      tableLines(
        [
          ['a', 'b', 'c'],
          ['long cell', '', 'x'],
          ['\u001b[31mred', 'é', 'end '],
        ],
        8,
      ),
    ).toEqual(
      ['a         b  c', 'long ce…     x', '[31mred  é  end'.padStart(0)].map((line, i) =>
        i === 2 ? ' [31mred  é  end' : line,
      ),
    )
  })
})
