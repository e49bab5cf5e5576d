import { describe, expect, it } from 'vitest'
import { inspectionPage } from '../../../src/report/inspection-page.js'
import { meshView } from '../../../src/report/mesh-view.js'
import { sampleInspection } from '../../support/sample-inspection.js'

const SITE = { meshes: [110, 305], rulingUnit: 'lines/in' } as const

/** A sample film whose screen was measured. */
async function screened(ruling: number, angle: number) {
  const input = await sampleInspection('pass')
  const reading = (value: number, unit: 'lines/in' | 'degrees') => ({
    ...input.inspection.readings.solidDensity!,
    value,
    expanded: 0.05,
    unit,
  })
  const readings = {
    ...input.inspection.readings,
    ruling: reading(ruling, 'lines/in'),
    screenAngle: reading(angle, 'degrees'),
  }
  return { ...input, inspection: { ...input.inspection, readings } }
}

describe('the mesh on the report', () => {
  it('is not there when no screen was measured, or no mesh is known', async () => {
    const { inspection, jobType } = await sampleInspection('pass')
    expect(meshView(inspection, jobType, SITE)).toBeNull()
    const film = await screened(55, 22.5)
    expect(meshView(film.inspection, film.jobType, { ...SITE, meshes: [] })).toBeNull()
  })

  it("takes the site's meshes and the job type's, each once", async () => {
    const { inspection, jobType } = await screened(55, 22.5)
    const view = meshView(inspection, { ...jobType, printed: { mesh: 230 } }, { ...SITE, meshes: [305, 230, 110] })!
    expect(view.screen).toBe('55.0 lines/in at 22.5 degrees')
    expect(view.rows.map(row => [row.mesh, row.asked, row.risk])).toEqual([
      ['110 threads/in', false, 'high risk'],
      ['230 threads/in', true, 'little risk'],
      ['305 threads/in', false, 'little risk'],
    ])
    expect(view.rows[0]!.patterns[0]).toMatch(
      /^Harmonic \(2, \u22121\) of the dots with \(1, 0\) of the threads: a band every 1\.\d mm$/,
    )
    expect(view.rows[0]!.next).toContain('finer mesh')
    expect(view.rows[1]!.next).toBe('')
  })

  it('counts in threads and lines a centimetre where the site does', async () => {
    const { inspection, jobType } = await screened(60.96, 22.5)
    const view = meshView(inspection, jobType, { meshes: [304.8], rulingUnit: 'lines/cm' })!
    expect(view.screen).toBe('24.0 lines/cm at 22.5 degrees')
    expect(view.rows[0]!.mesh).toBe('120 threads/cm')
  })

  it('says so when dots and threads keep step', async () => {
    const { inspection, jobType } = await screened(55, 0)
    const film = { ...inspection, readings: { ...inspection.readings } }
    const exact = {
      ...film,
      readings: {
        ...film.readings,
        screenAngle: { ...film.readings.screenAngle, expanded: 0 },
        ruling: { ...film.readings.ruling, expanded: 0 },
      },
    }
    expect(meshView(exact, jobType, { ...SITE, meshes: [110] })!.rows[0]!.patterns[0]).toContain(
      'in step all over the film',
    )
  })

  it('stands on the page as advice, never as a verdict', async () => {
    const input = await screened(55, 22.5)
    const page = inspectionPage({ ...input, site: { ...input.site, meshes: [110] } })
    expect(page).toContain('On the mesh')
    expect(page).toContain('Advice from geometry, never a verdict')
  })
})
