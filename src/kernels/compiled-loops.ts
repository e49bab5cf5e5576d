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

/** Loops in one memory that is used again for every next call it is large enough for: a new one each costs more than the loops in it. */
export function reusedMemory<Loops extends { readonly memory: ArrayBuffer }>(
  loops: (bytes: number) => Loops,
): (bytes: number) => Loops {
  let kept: Loops | null = null
  return bytes => {
    if (kept === null || kept.memory.byteLength < bytes) kept = loops(bytes)
    return kept
  }
}

/** Arrays one after the other in a memory: each call answers where the next one begins. */
export interface MemoryPlan {
  take(bytes: number): number
  /** Where the last one ends, with room to read sixteen bytes more. */
  end(): number
}

export function memoryPlan(): MemoryPlan {
  let end = 0
  return {
    take(bytes) {
      const at = end
      end += 16 * Math.ceil(bytes / 16)
      return at
    },
    end: () => end + 16,
  }
}
