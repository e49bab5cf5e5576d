import { stat } from 'node:fs/promises'
import type { Calibration } from '../model/calibration.js'
import { ProblemError } from '../model/problem.js'
import type { HealthFinding } from '../model/workspace-health.js'
import { calibrationPage } from '../report/calibration-page.js'
import { writeWhole } from './write-whole.js'

/**
 * Writes again the page of each calibration that has none, or one older than the calibration itself: the page is written after the
 * calibration, so whatever stopped the computer between the two leaves it behind.
 * @returns what was mended; a page that cannot be written is named too, never a reason to stop
 */
export async function mendCalibrationPages(
  stored: readonly { readonly file: string; readonly calibration: Calibration }[],
): Promise<readonly HealthFinding[]> {
  const found: HealthFinding[] = []
  for (const { file, calibration } of stored) {
    const page = file.replace(/\.json$/, '.html')
    const [kept, shown] = [await modified(file), await modified(page)]
    if (shown !== null && !(kept !== null && shown < kept)) continue
    const who = `${calibration.scanner} at ${Math.round(calibration.scan.dpi.across)} dpi`
    try {
      await writeWhole(page, calibrationPage(calibration))
      const was = shown === null ? 'had no page' : 'had the page of an earlier one'
      found.push({
        about: 'calibration',
        state: 'ok',
        says: `The calibration of ${who} ${was}; it was written again: ${page}`,
        next: '',
      })
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      found.push({
        about: 'calibration',
        state: 'warn',
        says: `The calibration of ${who} has no page of its own: ${error.problem.what}.`,
        next: `make room or give the right to write in the folder of ${page}, then run \`burngate check\` again`,
      })
    }
  }
  return found
}

/** When the file was last written, ms; null when there is none. */
async function modified(file: string): Promise<number | null> {
  try {
    return (await stat(file)).mtimeMs
  } catch {
    return null
  }
}
