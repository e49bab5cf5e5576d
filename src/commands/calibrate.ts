import type { App } from '../app.js'
import type { Expanded, FlatField, GridScale } from '../model/calibration.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface CalibrateOptions {
  readonly workspace?: string
  readonly scanner: string
  readonly tablet: string
  readonly edge?: string
  readonly grid?: string
  readonly gridPitch?: string
  readonly flat?: readonly string[]
  readonly gridPitchU?: string
  readonly json?: boolean
}

/** `burngate calibrate SCAN`: reads a step tablet (a straight edge, a grid, the bare glass) and keeps the scanner's calibration. */
export async function calibrateCommand(scan: string, options: CalibrateOptions, app: App): Promise<number> {
  const { terminal } = app
  const grid = gridOf(options)
  if (typeof grid === 'string') {
    terminal.say(grid)
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { calibration, file, page } = await workspace.calibrate({
      scan,
      scanner: options.scanner,
      tablet: options.tablet,
      edge: options.edge ?? null,
      grid,
      flats: options.flat ?? [],
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
    if (calibration.size) terminal.say(`  ${sizeWords(calibration.size)}`)
    else
      terminal.say(
        '  The length of its pixels is taken from the resolution, within 0.5 %: give --grid with a scan of a grid of known pitch.',
      )
    if (calibration.flat) for (const line of flatWords(calibration.flat)) terminal.say(`  ${line}`)
    for (const warning of calibration.warnings) terminal.say(`  Note: ${plain(warning)}`)
    terminal.say(`  Kept in ${file}`)
    terminal.say(`  Page: ${page}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

/** A pitch of a grid that lies on a flatbed, mm. */
const PITCH_MM = { least: 0.2, most: 100 }

/** A grid known less well than this tells no more than the resolution does, share of the pitch. */
const MOST_PITCH_U = 0.01

/** The grid asked for, null for none, or what is wrong with the options. */
function gridOf(
  options: CalibrateOptions,
): { scan: string; pitchMm: number; pitchExpandedMm?: number } | null | string {
  const { grid, gridPitch, gridPitchU } = options
  if (gridPitchU !== undefined && gridPitch === undefined)
    return '--grid-pitch-u needs --grid SCAN and --grid-pitch MM: it is the uncertainty of that pitch.'
  if (grid === undefined && gridPitch === undefined) return null
  if (grid === undefined) return '--grid-pitch needs --grid SCAN: the scan of the grid.'
  if (gridPitch === undefined) return '--grid needs --grid-pitch MM: the true distance of its lines or marks.'
  const pitchMm = Number(gridPitch)
  if (!(gridPitch.trim() !== '' && pitchMm >= PITCH_MM.least && pitchMm <= PITCH_MM.most))
    return `--grid-pitch is a number of millimetres, ${PITCH_MM.least} to ${PITCH_MM.most}; got ${plain(gridPitch)}`
  if (gridPitchU === undefined) return { scan: grid, pitchMm }
  const pitchExpandedMm = Number(gridPitchU)
  if (!(gridPitchU.trim() !== '' && pitchExpandedMm >= 0 && pitchExpandedMm <= MOST_PITCH_U * pitchMm))
    return `--grid-pitch-u is a number of millimetres, 0 to ${Number((MOST_PITCH_U * pitchMm).toPrecision(3))} (1 % of the pitch); got ${plain(gridPitchU)}`
  return { scan: grid, pitchMm, pitchExpandedMm }
}

function sizeWords({ across, along, squareness, nodes }: GridScale): string {
  const percent = ({ value, expanded }: Expanded) =>
    `${value < 1 ? '' : '+'}${(100 * (value - 1)).toFixed(3)} ± ${(100 * expanded).toFixed(3)} %`
  return `Its pixels differ from what the resolution says by ${percent(across)} across and ${percent(along)} along; its axes are ${squareness.value.toFixed(3)} ± ${squareness.expanded.toFixed(3)} degrees off square (${nodes} nodes). That is used for all lengths.`
}

function flatWords({ uniformity, standard, lateral, widthMm }: FlatField): string[] {
  const percent = (value: number) => `${value < 0 ? '' : '+'}${value.toFixed(1)}`
  return [
    `Light on its glass differs from the mean by ${percent(uniformity.least)} to ${percent(uniformity.greatest)} %; that is taken out of scans ${widthMm.toFixed(1)} mm wide, to ${(2 * standard).toFixed(4)} D (U).`,
    lateral.measured
      ? `Film reads ${percent(100 * lateral.share)} ± ${(200 * lateral.standard).toFixed(1)} % denser 100 mm from the mid-line; that is taken out too.`
      : 'How much denser film reads away from the mid-line is not known, and U holds it: a second --flat, of an even dense film that covers the glass, would tell.',
  ]
}
