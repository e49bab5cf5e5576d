/** Independent normal numbers, mean 0, sigma 1; the same seed gives the same ones (32-bit xorshift, Box & Muller). */
export function gaussian(seed: number): () => number {
  let state = (seed * 2654435761) >>> 0 || 1
  const uniform = () => {
    state ^= state << 13
    state >>>= 0
    state ^= state >>> 17
    state ^= state << 5
    state >>>= 0
    return (state + 0.5) / 4294967296
  }
  for (let i = 0; i < 20; i++) uniform()
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())
}
