import { describe, expect, it } from 'vitest'
import { recommend } from '../../../src/ladder/recommend.js'
import { judgeLadder } from '../../../src/pipeline/judge-ladder.js'
import { type LadderPageInput, ladderPage } from '../../../src/report/ladder-page.js'
import { syntheticLadder } from '../../support/synthetic-ladder.js'

const HOSTILE = `<script>window.hit=1</script><img src=x onerror="window.hit=1">'"\`&`

/** Seeds whose ladders have more than one stock; what passes on them is told by the ladder itself. */
function input(seed: number, change: Partial<LadderPageInput> = {}): LadderPageInput {
  const { plan, jobType, samples } = syntheticLadder(seed)
  return {
    plan,
    jobType,
    result: recommend(plan, judgeLadder(samples, jobType), jobType.limits),
    ages: [],
    unread: [],
    notes: [],
    shop: 'Tidewater Screenworks',
    scannedAt: '2026-03-02T10:00:00',
    at: '2026-03-02T11:00:00Z',
    scanner: 'flatbed-a',
    deepest: 3.6,
    software: 'burngate 0.1.0',
    ...change,
  }
}
const seen = (html: string) =>
  html
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ')

describe('ladderPage', () => {
  const inputs = Array.from({ length: 30 }, (_, i) => input(i + 1))
  const passing = inputs.find(one => one.result.recommended !== null && one.plan.stocks.length > 1)!
  const none = inputs.find(one => one.result.recommended === null)!

  it('says the setting first, by word and shape, what it saves, and why each cheaper one was not taken', () => {
    const html = ladderPage(passing)
    const { recommended, saves, cheaper } = passing.result
    expect(html).toMatch(/<header class="verdict verdict-pass">[\s\S]*<svg class="shape"/)
    const text = seen(html)
    expect(text).toContain(`${recommended!.mode} ${recommended!.level}`)
    expect(text).toContain(`on ${recommended!.stock}`)
    if (saves !== null) expect(text).toContain('on a hundred films')
    expect(text.split('Why not').length - 1).toBe(cheaper.length > 0 ? 1 : 0)
    expect(text).toContain('best')
    expect(html.match(/class="step step-pass chosen"/g)).toHaveLength(1)
  })

  it('says what comes closest where nothing passes', () => {
    const text = seen(ladderPage(none))
    expect(text).toContain('Nothing passes')
    expect(text).toContain('Closest comes stock-')
  })

  it('carries the ultraviolet caution, the definition of the knee and every limit', () => {
    const text = seen(ladderPage(passing))
    expect(text).toContain('ultraviolet light that injures eyes and skin')
    expect(text).toContain('95 % of the way from clear film to the ceiling')
    expect(text).toContain('at least 3.00 D')
  })

  it('lists what is missing and what took no part, and lets no name of a file in unescaped', () => {
    const some = { ...passing.result, missing: [{ stock: 'stock-a', mode: 'draft', level: 2 }] }
    const html = ladderPage({
      ...passing,
      result: some,
      unread: [{ file: HOSTILE, what: `${HOSTILE}: cut short`, next: 'scan again' }],
      notes: [HOSTILE],
      shop: HOSTILE,
    })
    expect(seen(html)).toContain('stock-a, draft: level 2')
    expect(html).not.toContain('<script>window')
    expect(html).not.toContain('<img src=x')
  })
})
