import { expect } from 'vitest'

/**
 * Checks |value - wanted| <= abs. Written so that NaN fails. The tolerance is in the unit of the quantity and says why it is what it is.
 */
export function expectWithin(
  value: number,
  wanted: number,
  tolerance: { abs: number; unit: string; because: string },
): void {
  const off = Math.abs(value - wanted)
  if (!(off <= tolerance.abs))
    expect.fail(
      `${value} is ${off} ${tolerance.unit} from ${wanted}; allowed ${tolerance.abs} ${tolerance.unit} (${tolerance.because})`,
    )
  expect(off).toBeLessThanOrEqual(tolerance.abs)
}
