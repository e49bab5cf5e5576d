import { gaussianQuantile } from './gaussian.js'

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
  /** Standard normal, cut at 5 sigma (sum of two table values). */
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
    normal: () => {
      const word = whole()
      const normals = normalTable()
      return (normals[word & 4095]! + normals[word >>> 20]!) * Math.SQRT1_2
    },
  }
}

let table: Float64Array | null = null

/** 4096 equally likely quantiles of the standard normal, scaled to variance 1; made once. Small enough for the nearest cache. */
export function normalTable(): Float64Array {
  if (table !== null) return table
  const n = 4096
  const made = new Float64Array(n)
  let squares = 0
  for (let i = 0; i < n; i++) {
    made[i] = i < n / 2 ? gaussianQuantile((i + 0.5) / n) : -made[n - 1 - i]!
    squares += made[i]! * made[i]!
  }
  const scale = Math.sqrt(n / squares)
  table = made.map(z => z * scale)
  return table
}
