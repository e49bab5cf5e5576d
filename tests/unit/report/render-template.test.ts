import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { boardPage } from '../../../src/report/board-page.js'
import { renderTemplate } from '../../../src/report/render-template.js'
import { SAMPLE_SITE } from '../../support/sample-inspection.js'

const REPORTS = new URL('../../../reports/', import.meta.url)

describe('renderTemplate', () => {
  it('throws for a field the view lacks: nothing is left blank silently', () => {
    expect(() => renderTemplate('board', { title: 'x' })).toThrow(/shop/)
  })

  it('puts the one style sheet and a content policy into the page, and allows only its own script', () => {
    const page = boardPage({ rows: [], site: SAMPLE_SITE, now: new Date(0), hrefOf: () => '' })
    expect(page).toContain('.verdict-line')
    expect(page).toMatch(/Content-Security-Policy" content="default-src &#x27;none&#x27;;.*script-src &#x27;sha256-/)
    expect(page.match(/<script/g)).toHaveLength(1)
  })

  it('has no template that places anything unescaped, and no style or script that ends its own element', () => {
    const templates = readdirSync(REPORTS, { recursive: true, encoding: 'utf8' })
    expect(templates.filter(file => file.endsWith('.hbs')).length).toBeGreaterThanOrEqual(5)
    for (const file of templates) {
      if (!/\.(hbs|css|js)$/.test(file)) continue
      const text = readFileSync(new URL(file, REPORTS), 'utf8')
      if (file.endsWith('.hbs')) expect(text, file).not.toMatch(/\{\{\{|\{\{&/)
      else expect(text, file).not.toMatch(/<\/(style|script)/i)
      expect(text, file).not.toMatch(/https?:\/\//)
    }
  })
})
