import { describe, expect, it } from 'vitest'
import type { BoardRow } from '../../../src/model/store.js'
import { boardPage } from '../../../src/report/board-page.js'
import { boardView } from '../../../src/report/board-view.js'
import { SAMPLE_SITE, sampleBoardRows } from '../../support/sample-inspection.js'

const now = new Date('2025-03-04T15:00:00Z')
const hrefOf = (row: BoardRow) => `${encodeURIComponent(row.id)}.html`
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
    expect(page.match(/<li class="row">/g)).toHaveLength(5000)
    expect(page.length).toBeLessThan(3_000_000)
    // Measured 0.15 to 0.45 s on two shared cores; the bound only catches work that grows with the square of the rows.
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
    expect(pass!.foldedCount).toBe(pass!.count - 40)
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
})
