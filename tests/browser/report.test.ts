import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { type Browser, chromium, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { boardPage } from '../../src/report/board-page.js'
import { checkPage } from '../../src/report/check-page.js'
import { formatAge } from '../../src/report/format-time.js'
import { inspectionPage } from '../../src/report/inspection-page.js'
import { scannerHealth } from '../../src/trend/scanner-health.js'
import { agedScanner } from '../support/aged-scanner.js'
import { SAMPLE_SITE, type SampleCase, sampleBoardRows, sampleInspection } from '../support/sample-inspection.js'

const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium'
const haveBrowser = existsSync(CHROMIUM)
if (!haveBrowser && process.env.CI === 'true')
  throw new Error(`CI must have a browser at ${CHROMIUM}; these tests may not be skipped there`)

const NOW = new Date('2025-03-04T15:00:00Z')
const CASES: readonly SampleCase[] = ['pass', 'fail', 'recheck', 'uncalibrated', 'bound']
const HOSTILE = `<script>window.hit=1</script><img src=x onerror="window.hit=1">\u202E\u0635\u0641\u062D\u0629'" ${'W'.repeat(60)}`

/** A4 less its margins in CSS pixels: 210 - 2 x 12 mm wide, 297 - 2 x 9 mm high. */
const A4 = { width: Math.floor((186 / 25.4) * 96), height: Math.floor((279 / 25.4) * 96) }

describe.skipIf(!haveBrowser)(`reports in a browser (skipped when there is none at ${CHROMIUM})`, () => {
  let browser: Browser
  let folder: string
  const pages = new Map<string, string>()

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'burngate-report-'))
    const add = (name: string, html: string) => {
      const file = join(folder, `${name}.html`)
      writeFileSync(file, html)
      pages.set(name, pathToFileURL(file).href)
    }
    for (const which of CASES) add(which, inspectionPage(await sampleInspection(which)))
    const failed = await sampleInspection('fail')
    const told = failed.inspection.findings.map(finding => ({ ...finding, next: 'Look at `burngate process` first' }))
    add('fail-command', inspectionPage({ ...failed, inspection: { ...failed.inspection, findings: told } }))
    const hostile = await sampleInspection('fail', {
      positive: HOSTILE,
      file: HOSTILE,
      note: HOSTILE,
      site: { shop: HOSTILE },
    })
    const findings = hostile.inspection.findings.map(finding => ({ ...finding, why: HOSTILE, next: HOSTILE }))
    add('hostile', inspectionPage({ ...hostile, inspection: { ...hostile.inspection, findings } }))
    const board = (name: string, rows: ReturnType<typeof sampleBoardRows>) =>
      add(name, boardPage({ rows, site: SAMPLE_SITE, now: NOW, hrefOf: row => `${encodeURIComponent(row.id)}.html` }))
    board('board-empty', [])
    board('board', sampleBoardRows(60, NOW))
    board('board-5000', sampleBoardRows(5000, NOW))
    board(
      'board-hostile',
      sampleBoardRows(6, NOW).map(row => ({ ...row, positive: HOSTILE, why: HOSTILE, next: HOSTILE })),
    )
    const worn = scannerHealth(agedScanner(8, 6))
    const moved = worn.series.flatMap(property => property.moves)
    add(
      'check',
      checkPage({
        site: SAMPLE_SITE,
        findings: moved.map(({ why, next }) => ({ about: 'calibration', state: 'warn', says: why, next })),
        scanners: [worn, { ...scannerHealth(agedScanner(2, 9)), scanner: HOSTILE }],
        now: NOW,
        software: HOSTILE,
      }),
    )
    browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox'] })
  })

  afterAll(async () => {
    await browser?.close()
    rmSync(folder, { recursive: true, force: true })
  })

  /** Opens a page and gathers what it should never have: requests beyond itself and the pictures inside, complaints. */
  async function open(
    name: string,
    width: number,
    javaScriptEnabled = true,
  ): Promise<{ page: Page; faults: string[] }> {
    const context = await browser.newContext({ viewport: { width, height: 900 }, javaScriptEnabled })
    const page = await context.newPage()
    await page.clock.setFixedTime(NOW)
    const faults: string[] = []
    page.on('request', request => {
      if (request.url() !== pages.get(name) && !request.url().startsWith('data:'))
        faults.push(`asked for ${request.url()}`)
    })
    page.on('console', message => faults.push(`${message.type()}: ${message.text()}`))
    page.on('pageerror', error => faults.push(`error: ${error.message}`))
    await page.goto(pages.get(name)!)
    return { page, faults }
  }

  const all = [...CASES, 'fail-command', 'hostile', 'board-empty', 'board', 'board-hostile', 'check']

  it.each(all)('asks for nothing, complains of nothing, never scrolls sideways from 360 px up: %s', async name => {
    const { page, faults } = await open(name, 1200)
    for (const width of [1200, 768, 360]) {
      await page.setViewportSize({ width, height: 900 })
      const room = await page.evaluate('document.documentElement.scrollWidth')
      expect(room, `at ${width} px`).toBeLessThanOrEqual(width)
    }
    expect(await page.evaluate('window.hit')).toBeUndefined()
    expect(faults).toEqual([])
    await page.context().close()
  })

  it.each(CASES)('shows the verdict as word and shape in the first window, the word on one line: %s', async name => {
    const { page } = await open(name, 1200)
    for (const width of [1200, 360]) {
      await page.setViewportSize({ width, height: 900 })
      const word = page.locator('.word')
      const verdict = { pass: 'PASS', fail: 'FAIL', recheck: 'RECHECK', uncalibrated: 'RECHECK', bound: 'RECHECK' }[
        name as SampleCase
      ]
      expect(await word.textContent()).toBe(verdict)
      const box = (await word.boundingBox())!
      const size = Number(await page.evaluate(`parseFloat(getComputedStyle(document.querySelector('.word')).fontSize)`))
      expect(box.y + box.height).toBeLessThan(900)
      expect(box.x + box.width).toBeLessThanOrEqual(width)
      expect(box.height).toBeLessThan(1.5 * size)
      expect(size).toBeGreaterThanOrEqual(width === 360 ? 37 : 120)
      const shape = (await page.locator('.verdict-line .shape').boundingBox())!
      expect(shape.width).toBeGreaterThan(0.7 * size)
    }
    await page.context().close()
  })

  it.each(all)('has headings in order, words for every picture and a contrast of 4.5 or more: %s', async name => {
    const { page } = await open(name, 1200)
    const levels = await page.$$eval('h1, h2, h3, h4', headings => headings.map(h => Number(h.tagName.slice(1))))
    expect(levels.filter(level => level === 1)).toHaveLength(1)
    for (let i = 1; i < levels.length; i++) expect(levels[i]! - levels[i - 1]!).toBeLessThanOrEqual(1)
    const wordless = await page.$$eval('img, svg:not([aria-hidden])', pictures =>
      pictures
        .filter(picture => !(picture.getAttribute('alt') || picture.getAttribute('aria-label')))
        .map(p => p.outerHTML),
    )
    expect(wordless).toEqual([])
    expect(await page.evaluate(POOR_CONTRAST)).toEqual([])
    await page.context().close()
  })

  it.each(CASES)('prints: verdict and readings on the first sheet, a PDF without fault: %s', async name => {
    const { page, faults } = await open(name, A4.width)
    await page.emulateMedia({ media: 'print' })
    const bottom = await page
      .locator('section[aria-labelledby=readings] .finding')
      .last()
      .evaluate(e => e.getBoundingClientRect().bottom)
    // Without a calibration every finding has a doubt to print; it may run over.
    if (name !== 'uncalibrated') expect(bottom).toBeLessThanOrEqual(A4.height)
    const pdf = await page.pdf({ preferCSSPageSize: true })
    expect(pdf.subarray(0, 5).toString('latin1')).toBe('%PDF-')
    expect(pdf.length).toBeGreaterThan(20_000)
    expect(faults).toEqual([])
    await page.context().close()
  })

  it('shows each foreign name as it is written', async () => {
    const { page } = await open('hostile', 390)
    expect(await page.locator('h1 .positive').textContent()).toBe(HOSTILE)
    await page.context().close()
  })

  describe('the board', () => {
    it('filters what is on the page of 5000 positives, opening what is folded', async () => {
      const { page, faults } = await open('board-5000', 1200)
      await page.fill('#wanted', 'harbor-185')
      expect(await page.locator('#found').textContent()).toBe('1 of 600 on this page')
      expect(await page.locator('.row:visible').count()).toBe(1)
      await page.fill('#wanted', '')
      expect(await page.locator('#found').textContent()).toBe('')
      expect(faults).toEqual([])
      await page.context().close()
    })

    it('reckons ages as the server does', async () => {
      const { page } = await open('board-5000', 1200)
      const shown = await page.$$eval('.row', rows =>
        rows.map(row => [row.querySelector('time')!.dateTime, row.querySelector('.age')!.textContent]),
      )
      expect(shown).toHaveLength(600)
      for (const [iso, age] of shown) expect(age).toBe(formatAge(iso!, NOW))
      await page.context().close()
    })

    it('is whole without its script', async () => {
      const { page } = await open('board', 1200, false)
      expect(await page.locator('.row').count()).toBe(60)
      expect(await page.locator('#filter').isVisible()).toBe(false)
      await page.locator('summary').first().click()
      expect(await page.locator('.row').last().textContent()).toContain('ago')
      await page.context().close()
    })

    it('can be walked by keyboard with the place always seen', async () => {
      const { page } = await open('board', 1200)
      await page.keyboard.press('Tab')
      const outline = await page.evaluate('getComputedStyle(document.activeElement).outlineWidth')
      expect(outline).toBe('4px')
      await page.context().close()
    })
  })
})

/** Runs in the page: texts whose contrast with the ground behind them (WCAG 2, relative luminance) is under 4.5. */
const POOR_CONTRAST = `(() => {
  const channel = c => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4 }
  const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b)
  const parse = text => text.match(/[\\d.]+/g).map(Number)
  const groundOf = element => {
    for (let e = element; e; e = e.parentElement) {
      const colour = parse(getComputedStyle(e).backgroundColor)
      if (colour.length === 3 || colour[3] === 1) return colour
    }
    return [255, 255, 255]
  }
  const poor = []
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement
    if (node.textContent.trim() === '' || element.closest('script, style')) continue
    const style = getComputedStyle(element)
    const ink = parse(element.closest('svg') ? (style.fill === 'none' ? style.color : style.fill) : style.color)
    const a = luminance(ink), b = luminance(groundOf(element))
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05)
    if (!(ratio >= 4.5)) poor.push(ratio.toFixed(2) + ' ' + node.textContent.trim().slice(0, 40))
  }
  return poor
})()`
