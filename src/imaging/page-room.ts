const PAGE_BYTES = 65_536

/** What is used of the host's WebAssembly: its types come with a browser's, which this program has not. */
declare const WebAssembly: {
  Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer }
}

/**
 * Zeroed room for an array as large as a page. WebAssembly's memory is the one kind that goes back to the system as a whole once nothing holds it;
 * what is allocated for ordinary arrays of a few MB the process keeps, so that a stage that is over would still count in its peak.
 */
export function pageRoom(bytes: number): ArrayBuffer {
  return new WebAssembly.Memory({ initial: Math.max(1, Math.ceil(bytes / PAGE_BYTES)) }).buffer
}

/** `length` zeros of 32-bit floating point in room of their own. */
export function pageFloats(length: number): Float32Array {
  return new Float32Array(pageRoom(4 * length), 0, length)
}

/** `length` zero bytes in room of their own. */
export function pageBytes(length: number): Uint8Array {
  return new Uint8Array(pageRoom(length), 0, length)
}
