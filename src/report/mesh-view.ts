import { type MeshAdvice, type Moire, meshMoire } from '../advise/mesh-moire.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { LimitName, Reading } from '../model/reading.js'
import type { SiteSettings } from '../model/site.js'

const WORDS: Readonly<Record<MeshAdvice['risk'], string>> = {
  low: 'little risk',
  some: 'some risk',
  high: 'high risk',
}

/** One line a mesh: what it will make of this film's screen. Null when no screen was measured or no mesh is known. */
export function meshView(inspection: Inspection, jobType: JobType, site: Pick<SiteSettings, 'meshes' | 'rulingUnit'>) {
  const readings: Readonly<Partial<Record<LimitName, Reading>>> = inspection.readings
  const { ruling, screenAngle } = readings
  if (ruling === undefined || screenAngle === undefined) return null
  const asked = jobType.printed.mesh
  const meshes = [...new Set([...(asked === undefined ? [] : [asked]), ...site.meshes])].sort((a, b) => a - b)
  if (meshes.length === 0) return null
  const perCm = site.rulingUnit === 'lines/cm'
  const unit = perCm ? 'threads/cm' : 'threads/in'
  return {
    screen: perCm
      ? `${(ruling.value / 2.54).toFixed(1)} lines/cm at ${screenAngle.value.toFixed(1)} degrees`
      : `${ruling.value.toFixed(1)} lines/in at ${screenAngle.value.toFixed(1)} degrees`,
    rows: meshes
      .map(mesh =>
        meshMoire(
          {
            ruling: ruling.value,
            rulingExpanded: ruling.expanded,
            angle: screenAngle.value,
            angleExpanded: screenAngle.expanded,
          },
          mesh,
        ),
      )
      .map(advice => ({
        mesh: `${perCm ? (advice.mesh / 2.54).toFixed(0) : advice.mesh} ${unit}`,
        asked: advice.mesh === asked,
        risk: WORDS[advice.risk],
        risky: advice.risk !== 'low',
        ratio: advice.aboutRatio,
        angle: advice.aboutAngle,
        patterns: advice.nearest.slice(0, 2).map(patternWords),
        next: advice.next,
      })),
  }
}

function patternWords({ dots, threads, periodMm }: Moire): string {
  const pair = (orders: readonly number[]) => `(${orders.join(', ').replaceAll('-', '\u2212')})`
  const which = `Harmonic ${pair(dots)} of the dots with ${pair(threads)} of the threads`
  return periodMm === null || periodMm > 500
    ? `${which}: in step all over the film`
    : `${which}: a band every ${periodMm.toFixed(1)} mm`
}
