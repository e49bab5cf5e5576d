import { describe, expect, it } from 'vitest'
import type { HealthFinding } from '../../../src/model/workspace-health.js'
import { type CheckPageInput, checkPage } from '../../../src/report/check-page.js'
import { scannerHealth } from '../../../src/trend/scanner-health.js'
import { agedScanner } from '../../support/aged-scanner.js'

const HOSTILE = `<script>window.hit=1</script><img src=x onerror="window.hit=1">'"\`&`
const finding = (state: HealthFinding['state'], says: string): HealthFinding => ({
  about: 'disk',
  state,
  says,
  next: state === 'ok' ? '' : `see to ${says}`,
})

function page(change: Partial<CheckPageInput> = {}): string {
  return checkPage({
    site: { shop: 'Tidewater Screenworks', calibrationMaxAgeDays: 90 },
    findings: [finding('ok', 'first'), finding('warn', 'second'), finding('ok', 'third')],
    scanners: [],
    now: new Date('2025-03-04T12:00:00Z'),
    software: 'burngate 0.1.0',
    ...change,
  })
}

/** The page as a person reads it: without styles and tags. */
const seen = (html: string) =>
  html
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ')

describe('the findings', () => {
  it.each([
    [['ok', 'ok'], 'Healthy', 'pass', 'none to see to'],
    [['ok', 'warn'], 'See to it', 'recheck', '1 to see to'],
    [['warn', 'bad'], 'Not working', 'fail', '2 to see to'],
  ] as const)('%j is %s, by word and shape', (states, word, manner, counted) => {
    const html = page({ findings: states.map((state, i) => finding(state, `what ${i}`)) })
    expect(html).toMatch(
      new RegExp(`<header class="verdict verdict-${manner}">[\\s\\S]*<svg class="shape"[\\s\\S]*${word}`),
    )
    expect(seen(html)).toContain(counted)
  })

  it('stand worst first, each with what to do', () => {
    const text = seen(page()).split('What was looked at')[1]!
    expect(text).toMatch(/Second Next: See to second.*First.*Third/)
  })
})

describe('a scanner', () => {
  it('has a chart for each property, and says which has moved', () => {
    const html = page({ scanners: [scannerHealth(agedScanner(8, 6))] })
    expect(html.match(/<figure class="plot">/g)).toHaveLength(7)
    const text = seen(html)
    expect(text).toContain('In use since 2025-02-17 (15 days ago)')
    expect(text).toContain('Calibrations kept 8, the first of 2024-08-05')
    // Open light, its noise and both widths; the depth fell by 3 %, which seven values that already fell do not tell from scatter.
    expect(text.match(/Has moved\./g)).toHaveLength(4)
    expect(text).toMatch(/Has moved\. Code of open light: 56\d\d\d codes, 5\.\d % below the first\./)
    expect(text).toMatch(/ Noise of dark: 2\d\.\d codes, \d\.\d % (above|below) the first\. Its own scatter: /)
    expect(text).not.toContain('Nothing has moved')
    expect(html).toContain('aria-label="Code of open light over 8 calibrations: ')
  })

  it('lists every calibration, the newest first', () => {
    const text = seen(page({ scanners: [scannerHealth(agedScanner(3, 99))] }))
    expect(text).toMatch(/2024-09-30 5 months ago .*2024-09-02 6 months ago .*2024-08-05 6 months ago/)
    expect(text).toContain('Nothing has moved over its calibrations.')
  })

  it('with one calibration has numbers and no chart', () => {
    const html = page({ scanners: [scannerHealth(agedScanner(1, 99, { sharpness: null }))] })
    expect(html).not.toContain('<figure')
    const text = seen(html)
    expect(text).toContain('Calibrations kept 1: a second one will show whether the scanner ages')
    expect(text).toContain('Deepest density 3.')
    expect(text).not.toContain('Rise width')
    expect(text).not.toContain('Nothing has moved')
  })

  it('that none is: says so', () => {
    expect(seen(page())).toContain('No scanner is calibrated yet.')
  })
})

describe('the page', () => {
  it('never shows NaN, undefined or null, whatever is absent', () => {
    const [first, ...rest] = agedScanner(7, 3)
    const patchy = [{ ...first!, openLight: null, dark: null, sharpness: null }, ...rest]
    const zero = agedScanner(3, 99, { dark: { code: 0, codeError: 0, pixelNoise: 0 } })
    const html = page({ scanners: [scannerHealth(patchy), scannerHealth(zero)] })
    expect(seen(html)).toContain('not measured')
    expect(seen(html)).not.toMatch(/\b(NaN|undefined|null|Infinity)\b/)
    expect(seen(page({ findings: [] }))).not.toMatch(/\b(NaN|undefined|null|Infinity)\b/)
  })

  it('makes no request and runs no script, and escapes every name', () => {
    const tablet = { name: HOSTILE, nominal: false, sha256: '' }
    const html = page({
      site: { shop: HOSTILE, calibrationMaxAgeDays: 90 },
      findings: [{ about: 'inbox', state: 'bad', says: HOSTILE, next: HOSTILE }],
      scanners: [{ ...scannerHealth(agedScanner(2, 99, { tablet })), scanner: HOSTILE, setting: HOSTILE }],
    })
    expect(html).not.toMatch(/<script|<img|<link(?! rel="icon" href="data:,")/)
    expect(html).not.toMatch(/(?:src|href)="(?!data:|#)/)
    expect(html).not.toContain('onerror="')
    expect(html).toContain('script-src &#x27;none&#x27;')
  })
})
