import { describe, expect, it } from 'vitest'
import { checkScannerName } from '../../../src/calibrate/scanner-name.js'
import { namePattern } from '../../../src/settings/name-rule.js'

describe('namePattern', () => {
  it.each(['a', 'flatbed-a', 'fine-line', '2', 'a.b', 'a_b', 'A'.repeat(64)])(
    'takes %s, as the calibration does',
    name => {
      expect(name).toMatch(namePattern)
      expect(() => checkScannerName(name)).not.toThrow()
    },
  )

  it.each(['', '.a', '_a', '-a', 'a.', 'a..b', 'a__b', 'a/b', 'a b', 'ä', 'A'.repeat(65), 'a\n'])(
    'refuses %j, as the calibration does',
    name => {
      expect(name).not.toMatch(namePattern)
      expect(() => checkScannerName(name)).toThrow()
    },
  )
})
