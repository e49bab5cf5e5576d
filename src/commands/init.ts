import type { App } from '../app.js'
import { EXIT } from './exit-code.js'

/** `burngate init DIR`: makes a workspace and says what to do first. */
export async function initCommand(folder: string, app: App): Promise<number> {
  const paths = await app.initWorkspace(folder)
  for (const line of [
    `Made a workspace in ${paths.root}`,
    '',
    `  burngate.yaml   settings; every one is explained there`,
    `  job-types/      tolerances, to be edited`,
    `  inbox/          drop scans here`,
    '',
    'Next:',
    `  1. Scan a step tablet at the setting you scan films with, and run`,
    `     burngate calibrate TABLET.tif --scanner flatbed-a --tablet nominal-21 --workspace ${folder}`,
    `  2. burngate watch --workspace ${folder}`,
    `  3. Open reports/index.html there.`,
  ])
    app.terminal.say(line)
  return EXIT.pass
}
