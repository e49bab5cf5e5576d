import { readFileSync } from 'node:fs'
import { expect, it } from 'vitest'
import { compileKernels } from '../../support/compile-kernels.js'

it('the compiled loops are those of the source: run `npm run kernels` after a change', async () => {
  const kept = readFileSync(new URL('../../../src/kernels/pixel-loops-code.ts', import.meta.url), 'utf8')
  expect(kept).toBe(await compileKernels())
})
