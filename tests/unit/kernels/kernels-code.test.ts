import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { compileKernel, KERNELS } from '../../support/compile-kernels.js'

describe('the compiled loops are those of the source: run `npm run kernels` after a change', () => {
  for (const kernel of KERNELS)
    it(kernel.source, async () => {
      const kept = readFileSync(new URL(`../../../src/kernels/${kernel.source}-code.ts`, import.meta.url), 'utf8')
      expect(kept).toBe(await compileKernel(kernel))
    })
})
