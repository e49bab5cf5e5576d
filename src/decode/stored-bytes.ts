const MACHINE_IS_LITTLE = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1

/** Brings 16-bit samples into the machine's byte order, in place. `bytes` has an even length. */
export function swapToMachineOrder(bytes: Uint8Array, littleEndian: boolean): void {
  if (littleEndian === MACHINE_IS_LITTLE) return
  Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).swap16()
}

const REVERSED = new Uint8Array(256)
for (let value = 0; value < 256; value++)
  for (let bit = 0; bit < 8; bit++) if ((value >> bit) & 1) REVERSED[value]! |= 0x80 >> bit

/** Reverses the bits of every byte in place (TIFF 6.0, FillOrder 2). */
export function reverseBits(bytes: Uint8Array): void {
  for (let i = 0; i < bytes.length; i++) bytes[i] = REVERSED[bytes[i]!]!
}
