import { describe, expect, it } from 'vitest'
import type { Acceptance } from '../../../src/model/acceptance.js'
import { withAcceptances } from '../../../src/report/acceptance-block.js'

const PAGE = '<body><header>FAIL</header><main>readings</main><header>no</header></body>'
const word = (change: Partial<Acceptance> = {}): Acceptance => ({
  inspection: 'f',
  verdict: 'fail',
  by: 'Lee',
  because: 'a short run',
  at: '2026-03-02T08:00:00.000Z',
  ...change,
})

describe('withAcceptances', () => {
  it('says both words right below the verdict and changes nothing else', () => {
    const page = withAcceptances(PAGE, [word()])
    expect(page).toMatch(/^<body><header>FAIL<\/header><!--acceptances-->[\s\S]*<!--\/acceptances--><main>readings/)
    expect(page).toContain('Lee')
    expect(page).toContain('A short run')
    expect(page).toContain('<b>FAIL</b>')
    expect(page).toContain('2026-03-02 08:00 UTC')
    expect(withAcceptances(page, [])).toBe(PAGE)
  })

  it('says them anew where they stand already', () => {
    const page = withAcceptances(withAcceptances(PAGE, [word()]), [word(), word({ by: 'Sam' })])
    expect(page.match(/<!--acceptances-->/g)).toHaveLength(1)
    expect(page.match(/let this positive through/g)).toHaveLength(2)
  })

  it('escapes what people wrote, marks included', () => {
    const page = withAcceptances(PAGE, [word({ by: '<!--/acceptances--><script>', because: '"><img src=x> $& $1' })])
    expect(page).not.toContain('<script>')
    expect(page).not.toContain('<img')
    expect(page).toContain('$&amp; $1')
    expect(withAcceptances(page, [])).toBe(PAGE)
  })

  it('refuses a page that is no report', () => {
    expect(() => withAcceptances('<p>', [word()])).toThrow('must have a header')
  })
})
