import { ProblemError } from '../model/problem.js'
import type { HealthFinding } from '../model/workspace-health.js'
import type { WorkspaceHealth } from './check-workspace.js'
import { writeWhole } from './write-whole.js'

/**
 * Writes the page of a check. A disk that takes no page is itself a finding, so that the rest is still told.
 * @returns all findings and the page's path, or null when it could not be written
 */
export async function writeCheckPage(
  health: WorkspaceHealth,
  { file, now, software }: { readonly file: string; readonly now: Date; readonly software: string },
): Promise<{ readonly findings: readonly HealthFinding[]; readonly page: string | null }> {
  const { checkPage } = await import('../report/check-page.js')
  try {
    await writeWhole(file, checkPage({ ...health, now, software }))
    return { findings: health.findings, page: file }
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    const { what, next } = error.problem
    const finding: HealthFinding = {
      about: 'disk',
      state: 'bad',
      says: `${what.slice(0, 1).toUpperCase()}${what.slice(1)}.`,
      next,
    }
    return { findings: [...health.findings, finding], page: null }
  }
}
