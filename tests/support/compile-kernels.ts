import { readFileSync } from 'node:fs'
import asc from 'assemblyscript/asc'

/** Every file of src/kernels/assembly with the name of the text it becomes. */
export const KERNELS = [
  { source: 'pixel-loops', constant: 'PIXEL_LOOPS' },
  { source: 'spot-loops', constant: 'SPOT_LOOPS' },
  { source: 'profile-loops', constant: 'PROFILE_LOOPS' },
  { source: 'block-loops', constant: 'BLOCK_LOOPS' },
  { source: 'light-loops', constant: 'LIGHT_LOOPS' },
  { source: 'place-loops', constant: 'PLACE_LOOPS' },
] as const

/** What the files take in, as the compiler asks for an import that ends in .js like all in this project; it becomes no code of its own. */
const SHARED = { asked: 'lists.js.ts', file: 'lists.ts' }

/** The text of src/kernels/<source>-code.ts, compiled from its AssemblyScript. */
export async function compileKernel({ source, constant }: (typeof KERNELS)[number]): Promise<string> {
  const file = `${source}.ts`
  let binary: Uint8Array | null = null
  const { error, stderr } = await asc.main(
    [file, '-O3', '--noAssert', '--enable', 'simd', '--runtime', 'stub', '--importMemory', '-o', 'out.wasm'],
    {
      readFile: name => {
        const read = name === SHARED.asked ? SHARED.file : name
        return read === file || read === SHARED.file
          ? readFileSync(new URL(`../../src/kernels/assembly/${read}`, import.meta.url), 'utf8')
          : null
      },
      writeFile: (name, contents) => {
        if (name === 'out.wasm') binary = contents as Uint8Array
      },
      listFiles: () => [],
    },
  )
  if (error !== null || binary === null) throw new Error(`${error}: ${stderr.toString()}`)
  const base64 = Buffer.from(binary as Uint8Array).toString('base64')
  return `/** WebAssembly of assembly/${file} as base64, written by \`npm run kernels\`. */
export const ${constant} =
  '${base64}'
`
}
