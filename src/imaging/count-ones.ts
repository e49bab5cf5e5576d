/** Ones of every byte. */
export const ONES = Uint8Array.from({ length: 256 }, (_, byte) => {
  let ones = 0
  for (let bits = byte; bits > 0; bits >>= 1) ones += bits & 1
  return ones
})
