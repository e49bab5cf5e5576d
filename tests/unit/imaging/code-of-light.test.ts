import { expect, it } from 'vitest'
import { codeOfLight } from '../../../src/imaging/code-of-light.js'

it('is the code whose light is nearest, as looking at all of them finds it', () => {
  const table = Float32Array.from({ length: 65536 }, (_, code) => (code / 65535) ** 1.8)
  for (const light of [-1, 0, 1e-9, 0.0123, 0.5, 0.99999, 1, 2]) {
    let nearest = 0
    for (let code = 1; code < table.length; code++)
      if (Math.abs(table[code]! - light) < Math.abs(table[nearest]! - light)) nearest = code
    expect(codeOfLight(table, light), `light ${light}`).toBe(nearest)
  }
})
