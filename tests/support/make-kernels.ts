/** `npm run kernels`: compiles src/kernels/assembly to the code the program loads. */
import { writeFileSync } from 'node:fs'
import { compileKernel, KERNELS } from './compile-kernels.js'

for (const kernel of KERNELS)
  writeFileSync(new URL(`../../src/kernels/${kernel.source}-code.ts`, import.meta.url), await compileKernel(kernel))
