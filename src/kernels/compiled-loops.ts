const PAGE_BYTES = 65_536

/** What is used of the host's WebAssembly: its types come with a browser's, which this program has not. */
declare const WebAssembly: {
  Module: new (code: Uint8Array) => object
  Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer }
  Instance: new (module: object, imports: object) => { readonly exports: unknown }
}

const compiled = new Map<string, object>()

/**
 * Loops written in AssemblyScript with a memory of their own; each code is compiled once a thread.
 * @param code WebAssembly as base64
 * @param bytes how much memory the caller lays out; it stays as large
 */
export function compiledLoops<Exports>(code: string, bytes: number): { memory: ArrayBuffer; exports: Exports } {
  const module = compiled.get(code) ?? new WebAssembly.Module(Buffer.from(code, 'base64'))
  compiled.set(code, module)
  const memory = new WebAssembly.Memory({ initial: Math.ceil(bytes / PAGE_BYTES) })
  const { exports } = new WebAssembly.Instance(module, { env: { memory } })
  return { memory: memory.buffer, exports: exports as Exports }
}
