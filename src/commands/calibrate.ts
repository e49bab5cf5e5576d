import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface CalibrateOptions {
  readonly workspace?: string
  readonly scanner: string
  readonly tablet: string
  readonly edge?: string
  readonly json?: boolean
}

/** `burngate calibrate SCAN`: reads a step tablet (and a straight edge) and keeps the scanner's calibration. */
export async function calibrateCommand(scan: string, options: CalibrateOptions, app: App): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { calibration, file, page } = await workspace.calibrate({
      scan,
      scanner: options.scanner,
      tablet: options.tablet,
      edge: options.edge ?? null,
    })
    if (options.json === true) terminal.out(JSON.stringify(calibration))
    const { response, steps, sharpness, tablet, deepest } = calibration
    const dpi = Math.round(calibration.scan.dpi.across)
    terminal.say(
      `Calibrated ${calibration.scanner} at ${dpi} dpi with ${plain(tablet.name)}${tablet.nominal ? ' (a nominal tablet: nobody measured its steps)' : ''}.`,
    )
    terminal.say(
      `  Tells density down to ${(Math.floor(deepest * 100) / 100).toFixed(2)}; ${steps.filter(s => s.trusted).length} of ${steps.length} steps used; the curve misses them by ${response.fitResidual.toFixed(3)} D (rms).`,
    )
    const widths = [
      ...(sharpness?.across ? [`${sharpness.across.riseWidth.toFixed(1)} um across`] : []),
      ...(sharpness?.along ? [`${sharpness.along.riseWidth.toFixed(1)} um along`] : []),
    ]
    terminal.say(
      widths.length > 0
        ? `  Its own edge rises in ${widths.join(' and ')}; that is taken out of every film's.`
        : '  Its sharpness is not known: give --edge with a scan of a razor-straight opaque edge, or widths are at-most readings.',
    )
    for (const warning of calibration.warnings) terminal.say(`  Note: ${plain(warning)}`)
    terminal.say(`  Kept in ${file}`)
    terminal.say(`  Page: ${page}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}
