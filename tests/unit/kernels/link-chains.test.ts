import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { memoryPlan } from '../../../src/kernels/compiled-loops.js'
import { placeLoops } from '../../../src/kernels/place-loops.js'

interface Crossing {
  readonly at: number
  readonly line: number
  readonly side: number
}

/** Line by line, as the rule says it. */
function plain(crossings: readonly Crossing[], reach: number): number[][] {
  const done: number[][] = []
  let open: number[][] = []
  const taken = new Set<number>()
  const lines = Math.max(...crossings.map(({ line }) => line))
  for (let line = 0; line <= lines; line++) {
    const next: number[][] = []
    for (const chain of open) {
      const last = crossings[chain.at(-1)!]!
      const third = chain.length >= 4 ? crossings[chain.at(-4)!]! : null
      const heading = third === null ? last.at : last.at + (last.at - third.at) / (last.line - third.line)
      const near = Array.from(crossings.keys())
        .filter(k => crossings[k]!.line === line && crossings[k]!.side === last.side && !taken.has(k))
        .map(k => ({ k, off: Math.abs(crossings[k]!.at - heading) }))
        .filter(({ off }) => off <= (third === null ? 1.5 : reach))
        .sort((a, b) => a.off - b.off)[0]
      if (near === undefined) done.push(chain)
      else {
        taken.add(near.k)
        chain.push(near.k)
        next.push(chain)
      }
    }
    crossings.forEach((crossing, k) => {
      if (crossing.line === line && !taken.has(k)) {
        taken.add(k)
        next.push([k])
      }
    })
    open = next
  }
  return [...done, ...open]
}

describe('linkChains', () => {
  it.each([1, 2, 3, 4])('links random crossings as the rule says (seed %i)', seed => {
    const random = seededRandom(seed)
    const crossings = Array.from({ length: 40 }, (_, line) =>
      line % 13 === 5
        ? []
        : Array.from({ length: 12 }, () => ({ at: 20 * random.uniform(), line, side: random.uniform() < 0.5 ? 1 : 0 })),
    )
      .flat()
      .sort((a, b) => a.line - b.line || a.at - b.at)
    const n = crossings.length
    const plan = memoryPlan()
    const placesAt = plan.take(8 * n)
    const [linesAt, sidesAt, beforeAt, lengthsAt, openAt, nextAt, endsAt] = [4, 1, 4, 4, 4, 4, 4].map(bytes =>
      plan.take(bytes * n),
    ) as [number, number, number, number, number, number, number]
    const loops = placeLoops(plan.end())
    new Float64Array(loops.memory, placesAt, n).set(crossings.map(({ at }) => at))
    new Int32Array(loops.memory, linesAt, n).set(crossings.map(({ line }) => line))
    new Uint8Array(loops.memory, sidesAt, n).set(crossings.map(({ side }) => side))
    const into = [beforeAt, lengthsAt, openAt, nextAt, endsAt] as const
    const count = loops.linkChains(placesAt, linesAt, sidesAt, n, 0.7, ...into)
    const before = new Int32Array(loops.memory, beforeAt, n)
    const lengths = new Int32Array(loops.memory, lengthsAt, n)
    const chains = Array.from(new Int32Array(loops.memory, endsAt, count), last => {
      const chain: number[] = []
      for (let k = last; k >= 0; k = before[k]!) chain.unshift(k)
      expect(lengths[last]).toBe(chain.length)
      return chain
    })
    expect(chains).toEqual(plain(crossings, 0.7))
    expect(Math.max(...chains.map(chain => chain.length))).toBeGreaterThan(4)
  })
})
