import { readFileSync } from 'node:fs'
import asc from 'assemblyscript/asc'

const SOURCE = new URL('../../src/kernels/assembly/pixel-loops.ts', import.meta.url)

/** The text of src/kernels/pixel-loops-code.ts, compiled from its AssemblyScript. */
export async function compileKernels(): Promise<string> {
  let binary: Uint8Array | null = null
  const { error, stderr } = await asc.main(
    [
      'pixel-loops.ts',
      '-O3',
      '--noAssert',
      '--enable',
      'simd',
      '--runtime',
      'stub',
      '--importMemory',
      '-o',
      'out.wasm',
    ],
    {
      readFile: name => (name === 'pixel-loops.ts' ? readFileSync(SOURCE, 'utf8') : null),
      writeFile: (name, contents) => {
        if (name === 'out.wasm') binary = contents as Uint8Array
      },
      listFiles: () => [],
    },
  )
  if (error !== null || binary === null) throw new Error(`${error}: ${stderr.toString()}`)
  const base64 = Buffer.from(binary as Uint8Array).toString('base64')
  return `/** WebAssembly of assembly/pixel-loops.ts as base64, written by \`npm run kernels\`. */
export const PIXEL_LOOPS =
  '${base64}'
`
}
