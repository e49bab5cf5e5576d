/** `npm run kernels`: compiles src/kernels/assembly to the code the program loads. */
import { writeFileSync } from 'node:fs'
import { compileKernels } from './compile-kernels.js'

writeFileSync(new URL('../../src/kernels/pixel-loops-code.ts', import.meta.url), await compileKernels())
