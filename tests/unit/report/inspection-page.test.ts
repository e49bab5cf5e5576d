import { describe, expect, it } from 'vitest'
import { inspectionPage } from '../../../src/report/inspection-page.js'
import { type SampleCase, sampleInspection } from '../../support/sample-inspection.js'

const CASES: readonly SampleCase[] = ['pass', 'fail', 'recheck', 'uncalibrated', 'bound']
const HOSTILE = `"><script>alert('x')</script>{{7*7}}\u202Eevil\u0635\u0641\u062D\u0629 & `

describe('inspectionPage', () => {
  it.each(CASES)('has no blank, no number missing and nothing to fetch: %s', async which => {
    const page = inspectionPage(await sampleInspection(which))
    const words = page.replace(/data:image\/png;base64,[A-Za-z0-9+/=]+/g, 'picture')
    expect(/.{0,60}(NaN|undefined|Infinity|\[object).{0,60}/.exec(words)?.[0]).toBeUndefined()
    const asks = /.{0,60}(https?:|@import|url\((?!#)|<script|<link(?! rel="icon" href="data:,")).{0,60}/
    expect(asks.exec(words)?.[0]).toBeUndefined()
    expect(page.match(/<img src="data:image\/png;base64,/g)!.length).toBeGreaterThanOrEqual(3)
  })

  it('escapes every foreign string', async () => {
    const input = await sampleInspection('fail', {
      positive: HOSTILE,
      file: HOSTILE,
      note: HOSTILE,
      site: { shop: HOSTILE },
    })
    const { inspection, measured, jobType, calibration } = input
    const page = inspectionPage({
      ...input,
      jobType: { ...jobType, name: HOSTILE, description: HOSTILE },
      calibration: {
        ...calibration!,
        scanner: HOSTILE,
        tablet: { ...calibration!.tablet, name: HOSTILE },
        warnings: [HOSTILE],
        calibratedAt: HOSTILE,
      },
      inspection: {
        ...inspection,
        jobType: HOSTILE,
        notes: [HOSTILE],
        scannedAt: HOSTILE,
        findings: inspection.findings.map(finding => ({
          ...finding,
          why: HOSTILE,
          next: HOSTILE,
          limit: { ...finding.limit, why: HOSTILE },
        })),
        readings: Object.fromEntries(
          Object.entries(inspection.readings).map(([name, reading]) => [
            name,
            {
              ...reading,
              method: HOSTILE,
              budget: [{ name: HOSTILE, standard: 0.1 }],
              parts: reading.parts.map(part => ({ ...part, id: HOSTILE, note: HOSTILE })),
            },
          ]),
        ),
      },
      measured: {
        ...measured,
        notes: [HOSTILE],
        header: { ...measured.header, warnings: [HOSTILE] },
        outlines: measured.outlines.map(outline => ({ ...outline, id: HOSTILE })),
        edges: measured.edges.map(edge => ({ ...edge, id: HOSTILE })),
        crops: measured.crops.map(crop => ({ ...crop, id: HOSTILE, caption: HOSTILE })),
        notMeasured: [{ reading: 'bandingPitch', because: HOSTILE, next: HOSTILE }],
      },
    })
    expect(/.{0,80}<script.{0,20}/.exec(page)?.[0]).toBeUndefined()
    expect(/.{0,80}"><script.{0,20}/.exec(page)?.[0]).toBeUndefined()
    expect(page.match(/&lt;script&gt;/g)!.length).toBeGreaterThan(20)
  })

  it('keeps code density and D apart when there is no calibration', async () => {
    const page = inspectionPage(await sampleInspection('uncalibrated'))
    expect(page).toContain('code density')
    expect(page).toContain('response unknown')
    expect(page).toContain('burngate calibrate SCAN')
    expect(page).not.toContain('What that means in light')
    expect(page).not.toMatch(/\d\.\d+\u00a0±\u00a0\d\.\d+\u00a0D\b/)
  })

  it('never calls a reading an ISO density, names channel and tablet, and says when the tablet is nominal', async () => {
    const page = inspectionPage(await sampleInspection('pass'))
    expect(page).not.toMatch(/ISO density|ISO 5/)
    expect(page).toMatch(/Scanner density, channel grey, calibrated to tablet <bdi>nominal-21<\/bdi> \(nominal tablet/)
  })

  it('carries the caution wherever it speaks of light, and gives no exposure', async () => {
    const page = inspectionPage(await sampleInspection('pass'))
    expect(page).toContain('It is no exposure time')
    expect(page).toMatch(/ultraviolet.*eyes and skin/)
    expect(page).toMatch(/local codes or a licensed practitioner/)
  })

  it('shows places in inches and rulings in lines/cm where the site says so', async () => {
    const page = inspectionPage(
      await sampleInspection('fail', { site: { lengthUnit: 'inch', rulingUnit: 'lines/cm' } }),
    )
    expect(page).toMatch(/\d\.\d\d\u00a0in from the left/)
    expect(page).not.toMatch(/\u00a0mm from the left/)
  })

  it('survives a page on which nothing was found', async () => {
    const input = await sampleInspection('recheck', { history: false })
    const page = inspectionPage({
      ...input,
      inspection: { ...input.inspection, readings: {}, findings: [] },
      measured: { ...input.measured, readings: {}, edges: [], outlines: [], crops: [] },
    })
    expect(page).toContain('No edge was measured')
    expect(page).toContain('Nothing was judged')
  })
})
