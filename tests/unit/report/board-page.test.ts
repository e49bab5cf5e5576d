import { describe, expect, it } from 'vitest'
import { boardPage } from '../../../src/report/board-page.js'
import { boardView } from '../../../src/report/board-view.js'
import { SAMPLE_SITE, sampleBoardRows } from '../../support/sample-inspection.js'

const now = new Date('2025-03-04T15:00:00Z')
const hrefOf = (row: { readonly id: string }) => `${encodeURIComponent(row.id)}.html`
const HOSTILE = `"><script>alert('x')</script>`

describe('boardPage', () => {
  it('says how to begin when there is nothing', () => {
    const page = boardPage({ rows: [], site: SAMPLE_SITE, now, hrefOf })
    expect(page).toContain('To begin')
    expect(page).not.toContain('<ul class="counts">')
  })

  it('escapes every foreign string', () => {
    const rows = sampleBoardRows(3, now).map(row => ({
      ...row,
      positive: HOSTILE,
      jobType: HOSTILE,
      why: HOSTILE,
      next: HOSTILE,
      scannedAt: HOSTILE,
    }))
    const page = boardPage({ rows, site: { ...SAMPLE_SITE, shop: HOSTILE }, now, hrefOf: () => HOSTILE })
    expect(page.match(/<script/g)).toHaveLength(1)
    expect(page).not.toContain('"><script>alert')
  })

  it('writes 5000 positives in good time and size', () => {
    const rows = sampleBoardRows(5000, now)
    const begun = performance.now()
    const page = boardPage({ rows, site: SAMPLE_SITE, now, hrefOf })
    const took = performance.now() - begun
    // 200 of each group; the others are counted.
    expect(page.match(/<li class="row">/g)).toHaveLength(600)
    expect(page).toContain(
      `${rows.filter(row => row.verdict === 'pass').length - 200} still older ones are not on this page`,
    )
    expect(page.length).toBeLessThan(500_000)
    // Measured 0.03 to 0.1 s on two shared cores; the bound only catches work that grows with the square of the rows.
    expect(took).toBeLessThan(5000)
  })
})

describe('boardView', () => {
  it('groups by what a person does, newest first, and folds all but the newest of each group', () => {
    const view = boardView({ rows: [...sampleBoardRows(400, now)].reverse(), site: SAMPLE_SITE, now, hrefOf })
    expect(view.groups.map(group => group.title)).toEqual(['May be burned', 'Needs another look', 'May not be burned'])
    expect(view.groups.reduce((sum, group) => sum + group.count, 0)).toBe(400)
    const [pass] = view.groups
    expect(pass!.shown).toHaveLength(40)
    expect(pass!.foldedCount).toBe(160)
    expect(pass!.more).toBe(pass!.count - 200)
    const times = [...pass!.shown, ...pass!.folded].map(row => Date.parse(row.scannedIso))
    expect(times).toEqual([...times].sort((a, b) => b - a))
    expect(pass!.shown[0]).toMatchObject({ href: 'sample-0.html', age: '4 min ago' })
  })

  it('puts a row without a readable date last and says its age is unknown', () => {
    const rows = sampleBoardRows(3, now).map((row, i) => ({
      ...row,
      verdict: 'pass' as const,
      scannedAt: i === 0 ? 'no date' : row.scannedAt,
    }))
    const shown = boardView({ rows, site: SAMPLE_SITE, now, hrefOf }).groups[0]!.shown
    expect(shown.at(-1)).toMatchObject({ href: 'sample-0.html', age: 'age unknown' })
  })

  it('keeps a film that a person let through apart, with both words', () => {
    const rows = sampleBoardRows(20, now).map(row =>
      row.id === 'sample-4'
        ? {
            ...row,
            accepted: {
              inspection: row.id,
              verdict: 'fail' as const,
              by: HOSTILE,
              because: 'A short run, seen by the customer',
              at: '2025-03-04T14:00:00.000Z',
            },
          }
        : row,
    )
    const view = boardView({ rows, site: SAMPLE_SITE, now, hrefOf })
    expect(view.groups.find(group => group.verdict === 'fail')!.shown.map(row => row.href)).not.toContain(
      'sample-4.html',
    )
    expect(view.accepted).toMatchObject({ any: true, count: 1, more: 0 })
    expect(view.accepted.shown[0]).toMatchObject({ href: 'sample-4.html', hasNext: false })
    expect(view.accepted.shown[0]!.accepted).toMatchObject({ word: 'FAIL', on: '2025-03-04' })
    const page = boardPage({ rows, site: SAMPLE_SITE, now, hrefOf })
    expect(page).toContain('Accepted by a person')
    expect(page).toContain('A short run, seen by the customer')
    expect(page).not.toContain(HOSTILE)
  })
})
