import { seededRandom } from '../../src/demo/random.js'
import type { StudyValue } from '../../src/model/gauge-study.js'

/** A crossed study with known standard deviations: mean + part + operator + part-by-operator + repeat, all normal. */
export function simulatedStudy(
  seed: number,
  size: { readonly parts: number; readonly operators: number; readonly repeats: number },
  sigma: {
    readonly part: number
    readonly operator: number
    readonly interaction: number
    readonly repeat: number
  },
  mean = 0,
): StudyValue[] {
  const random = seededRandom(seed)
  const operators = Array.from({ length: size.operators }, () => sigma.operator * random.normal())
  const values: StudyValue[] = []
  for (let i = 0; i < size.parts; i++) {
    const part = sigma.part * random.normal()
    for (let j = 0; j < size.operators; j++) {
      const both = sigma.interaction * random.normal()
      for (let k = 1; k <= size.repeats; k++)
        values.push({
          part: `film-${i + 1}`,
          operator: `place-${j + 1}`,
          repeat: k,
          value: mean + part + operators[j]! + both + sigma.repeat * random.normal(),
        })
    }
  }
  return values
}
