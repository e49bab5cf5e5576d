/** A seeded source of numbers; the same seed gives the same numbers on every machine. */
export interface Random {
  /** Whole number 0..2^32-1. */
  whole(): number
  /** 0 <= x < 1. */
  uniform(): number
  /** low <= x < high. */
  between(low: number, high: number): number
  /** One of the given values. */
  pick<T>(values: readonly T[]): T
  /** Standard normal, cut at 4.2 sigma (65536 equally likely quantiles). */
  normal(): number
}

/** xoshiro128** seeded by splitmix32 (Blackman & Vigna, ACM TOMS 47, 36, 2021; from memory). */
export function seededRandom(seed: number): Random {
  let mix = seed >>> 0
  const next = () => {
    mix = (mix + 0x9e3779b9) >>> 0
    let x = mix
    x = Math.imul(x ^ (x >>> 16), 0x85ebca6b)
    x = Math.imul(x ^ (x >>> 13), 0xc2b2ae35)
    return (x ^ (x >>> 16)) >>> 0
  }
  let a = next()
  let b = next()
  let c = next()
  let d = next() | 1
  const whole = () => {
    const five = Math.imul(b, 5)
    const result = Math.imul((five << 7) | (five >>> 25), 9) >>> 0
    const t = b << 9
    c ^= a
    d ^= b
    b ^= c
    a ^= d
    c ^= t
    d = (d << 11) | (d >>> 21)
    return result
  }
  const uniform = () => whole() / 4294967296
  return {
    whole,
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    pick: values => values[Math.floor(uniform() * values.length)]!,
    normal: () => normalTable()[whole() >>> 16]!,
  }
}

let table: Float64Array | null = null

/** The 65536 normal quantiles at (i + 0.5) / 65536; made once. Acklam-free: inverted from a fine sum of the density. */
export function normalTable(): Float64Array {
  if (table !== null) return table
  const n = 65536
  const made = new Float64Array(n)
  const step = 1 / 4096
  let z = 0
  let below = 0.5
  for (let i = n / 2; i < n; i++) {
    const wanted = (i + 0.5) / n
    for (;;) {
      const area = (step / 6) * (density(z) + 4 * density(z + step / 2) + density(z + step))
      if (below + area >= wanted) {
        made[i] = z + (step * (wanted - below)) / area
        break
      }
      below += area
      z += step
    }
    made[n - 1 - i] = -made[i]!
  }
  table = made
  return made
}

function density(z: number): number {
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)
}
