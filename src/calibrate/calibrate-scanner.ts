import { basename } from 'node:path'
import { median } from '../imaging/robust.js'
import type { Calibration, TabletStep } from '../model/calibration.js'
import type { Dpi, PixelPoint } from '../model/geometry.js'
import { UM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import type { Certificate } from './certificate.js'
import { deepestDensity } from './deepest-density.js'
import { type FoundTablet, findTablet } from './find-tablet.js'
import { flareLight } from './flare-light.js'
import { flaredResponse } from './flared-response.js'
import { type FlatScan, surveyFlat } from './flat-field.js'
import { lightScale } from './light-scale.js'
import { lineSpread } from './line-spread.js'
import { pageReferences } from './page-references.js'
import { pageSurvey } from './page-survey.js'
import type { SeenStep } from './response-curve.js'
import { checkScannerName } from './scanner-name.js'
import { sharpeningHalos } from './sharpening-halos.js'
import { INNER_SHARE, type PatchCodes, patchCodes } from './step-codes.js'
import { tabletLight } from './tablet-light.js'

/** What a calibration is made from. */
export interface CalibrationInput {
  readonly tablet: OpenScan
  readonly tabletSha256: string
  readonly certificate: Certificate
  /** Scan of a razor-straight opaque edge at the same setting; null when there is none. */
  readonly edge: { readonly scan: OpenScan; readonly sha256: string } | null
  /** Scans of the bare glass, or of even films on it, at the same setting; absent or empty when there is none. */
  readonly flats?: readonly FlatScan[]
  readonly scanner: string
  readonly now: Date
  readonly software: string
  /** Resolution that wins over the file's. */
  readonly dpi?: number
}

/** Block of the reduced page, mm: a tenth of the narrowest step a shop's tablet has. */
const BLOCK_MM = 0.25
/** A page whose every pixel holds one of so few codes was scanned with 8 bits, whatever the file says. */
const EIGHT_BIT_CODES = 256
/** Below this no step is read by enough pixels; above, no flatbed goes. */
const LEAST_DPI = 100
const GREATEST_DPI = 10_000

/**
 * Calibrates a scanner at one setting from one scan of a step tablet (tone response after ISO 14524, depth after ISO 21550) and
 * optionally one of a straight edge (sharpness) and of the bare glass (flat field). Returns the calibration; saves nothing.
 * @throws ProblemError TABLET_*, CALIBRATION_*, FLAT_*, EDGE_NOT_FOUND, RESOLUTION_*, SCANNER_NAME_INVALID
 */
export function calibrateScanner(input: CalibrationInput): Calibration {
  const { tablet: scan, certificate } = input
  const { header } = scan
  checkScannerName(input.scanner)
  const dpi = resolution(scan, input.dpi)
  const umPerPixel = UM_PER_INCH / ((dpi.across + dpi.along) / 2)
  if (header.bits !== 16) throw new ProblemError('CALIBRATION_EIGHT_BIT', `${header.bits} bits a sample`)
  const survey = surveyOf(scan, umPerPixel)
  if (!(survey.distinctCodes > EIGHT_BIT_CODES))
    throw new ProblemError('CALIBRATION_EIGHT_BIT', `only ${survey.distinctCodes} different codes on the page`)
  refuseBurntOut(survey.fullShare)

  const found = findTablet(survey, certificate, umPerPixel)
  const patches: PatchCodes[] = []
  const seen = certificate.steps.map((step, i): SeenStep => {
    const centre = found.centres[i]!
    const patch = patchCodes(
      scan,
      {
        centre,
        axis: found.axis,
        halfAlong: (INNER_SHARE / 2) * found.pitchPx,
        halfAcross: (INNER_SHARE / 2) * found.widthPx,
      },
      umPerPixel,
    )
    if (patch === null)
      throw new ProblemError('TABLET_STEP_COUNT', `step ${step.step} lies off the scan or is too small to read`)
    patches.push(patch)
    const { code, codeError, pixelNoise, fullShare, zeroShare } = patch
    return { ...step, code, codeError, pixelNoise, fullShare, zeroShare, column: centre.column, row: centre.row }
  })
  const { open, dark } = pageReferences(scan, survey, found, seen.at(-1)!.code, umPerPixel)
  const onTablet = tabletArea(found, 1000 / umPerPixel)
  const told = input.dpi
  const flats = (input.flats ?? []).map(flat => surveyFlat(flat, { dpi, channel: header.channel, told }))
  const { width, height } = header
  const glass = tabletLight({ seen, open, survey, dpi, width, height, onTablet, flats })
  const { fitted, flare, surrounds } = flaredResponse({
    seen: glass.seen,
    open,
    dark,
    tablet: scan,
    edge: input.edge?.scan ?? null,
    umPerPixel,
    onTablet,
    stepPlaces: found.centres.map(centre => placesOver(found, centre)),
  })
  const halos = sharpeningHalos(scan, found, seen)
  if (halos !== null) throw new ProblemError('CALIBRATION_SHARPENED', halos)

  const lastTrusted = fitted.steps.findLastIndex(step => step.trusted)
  // Noise of the deepest places: of the dark reference and the last trusted step the larger.
  const squareNoise = Math.max(patches[lastTrusted]!.squareNoise, dark?.squareNoise ?? 0)
  const deepest = deepestDensity(fitted.response, squareNoise, fitted.usedDark)
  const certified = fitted.steps.map((step, i) => ({
    ...step,
    density: certificate.steps[i]!.density,
    surround: surrounds[i]!,
  }))
  // Only now: with the file of another tablet steps are cut in two as well, and that is not dust.
  const soiled = refuseSoiled(seen, patches)
  refuseOddStep(fitted.steps)
  const warnings = [...header.warnings, ...soiled, ...fitted.warnings, ...glass.warnings]
  const flat = glass.flat(fitted.response)
  if (certificate.nominal)
    warnings.push(
      `Nominal tablet (${certificate.name}): no one measured its steps, so densities are uncertain by 0.03 to 0.10.`,
    )
  if (certificate.expandedAssumed)
    warnings.push('The tablet file states no uncertainty: U = 0.02 D was taken for every step.')
  if (open === null) warnings.push('No open light beside the tablet was in view: D 0 rests on the certificate alone.')
  if (dark === null)
    warnings.push('No opaque holder or card was in view: black rests on the deepest steps of the tablet.')
  const calibration: Calibration = {
    schema: 'burngate/calibration@1',
    scanner: input.scanner,
    calibratedAt: input.now.toISOString(),
    software: input.software,
    tablet: { name: certificate.name, nominal: certificate.nominal, sha256: input.tabletSha256 },
    scan: {
      file: basename(header.file),
      sha256: input.tabletSha256,
      dpi,
      bits: header.bits,
      channel: header.channel,
      maker: header.maker,
      model: header.model,
    },
    steps: certified,
    response: fitted.response,
    openLight: open === null ? null : { code: open.code, clippedShare: open.fullShare, pixelNoise: open.pixelNoise },
    dark: dark === null ? null : { code: dark.code, codeError: dark.codeError, pixelNoise: dark.pixelNoise },
    deepest,
    sharpness: null,
    flare,
    ...(flat === null ? {} : { flat }),
    ...(glass.uneven === undefined ? {} : { uneven: glass.uneven }),
    warnings,
  }
  const deep = { ...calibration, deepest: Math.min(deepest, toldThroughFlare(calibration, squareNoise)) }
  return input.edge === null ? deep : withSharpness(deep, input.edge, input.dpi)
}

/** Dust over more than this share of what is read of a step: what is left of it may be soiled too. Less is left out, and from the other share on noted. */
const MOST_SOILED = 0.25
const NOTED_SOILED = 0.03
/** Blocks within a step that differ by so much, D (one sigma), and so many times as much as those of the tablet's other steps, are no even step. */
const UNEVEN_DENSITY = 0.02
const UNEVEN_TIMES = 5
/** Deep steps stand this many times the noise of a pixel above the deepest, or their unevenness is noise. */
const FAINT_TIMES = 20

/**
 * Dust, hairs and labels on steps: so much that it cannot be left out is refused, less is told.
 * @throws ProblemError TABLET_STEP_DIRTY
 */
function refuseSoiled(seen: readonly SeenStep[], patches: readonly PatchCodes[]): string[] {
  const least = Math.min(...seen.map(step => step.code))
  const spreads = patches.map((patch, i) => {
    const above = Math.max(1, seen[i]!.code - least)
    return { spread: patch.blockSpread / above / Math.LN10, noise: patch.blockNoise / above / Math.LN10 }
  })
  const usual = median(spreads.map(s => s.spread))
  const faint = FAINT_TIMES * median(patches.map(patch => patch.pixelNoise))
  for (const [i, { spread, noise }] of spreads.entries()) {
    const { step } = seen[i]!
    const { leftOut } = patches[i]!
    if (leftOut > MOST_SOILED)
      throw new ProblemError('TABLET_STEP_DIRTY', `dust or a hair over ${(100 * leftOut).toFixed(0)} % of step ${step}`)
    if (seen[i]!.code - least < faint) continue
    if (spread > Math.max(UNEVEN_DENSITY, UNEVEN_TIMES * usual, UNEVEN_TIMES * noise))
      throw new ProblemError(
        'TABLET_STEP_DIRTY',
        `step ${step} is not even: ${spread.toFixed(2)} D from place to place`,
      )
  }
  const noted = seen.filter((_, i) => patches[i]!.leftOut > NOTED_SOILED)
  if (noted.length === 0) return []
  const one = noted.length === 1
  return [
    `Dust, a hair or a scratch lies on step${one ? '' : 's'} ${noted.map(step => step.step).join(', ')}; it was left out. Clean tablet and glass before the next calibration.`,
  ]
}

/** A step this far off the line of its neighbours is soiled as a whole, or its line in the file is wrong, D; certificates err less, by this many of their standard uncertainties. */
const ODD_DENSITY = 0.05
const ODD_ERRORS = 5

/**
 * A scanner bends the scale smoothly: a single step that stands out is not the scanner's doing.
 * @throws ProblemError TABLET_STEP_DIRTY
 */
function refuseOddStep(steps: readonly TabletStep[]): void {
  for (let i = 1; i + 1 < steps.length; i++) {
    const [a, b, c] = [steps[i - 1]!, steps[i]!, steps[i + 1]!]
    if (!(a.trusted && b.trusted && c.trusted)) continue
    const off = b.residual - (a.residual + c.residual) / 2
    const perCode = Math.abs((c.density - a.density) / (c.code - a.code))
    const certified = Math.hypot(b.expanded, a.expanded / 2, c.expanded / 2) / 2
    const error = Math.hypot(certified, perCode * Math.hypot(b.codeError, a.codeError / 2, c.codeError / 2))
    if (Math.abs(off) > Math.max(ODD_DENSITY, ODD_ERRORS * error))
      throw new ProblemError(
        'TABLET_STEP_DIRTY',
        `step ${b.step} reads ${Math.abs(off).toFixed(2)} D ${off > 0 ? 'denser' : 'clearer'} than its neighbours let expect`,
      )
  }
}

/** Places spread evenly over the part of a step that is read. */
function placesOver(found: FoundTablet, centre: PixelPoint): PixelPoint[] {
  const shares = [-0.4, -0.2, 0, 0.2, 0.4].map(share => share * INNER_SHARE)
  const { axis, pitchPx, widthPx } = found
  return shares.flatMap(s =>
    shares.map(t => ({
      column: centre.column + s * pitchPx * axis.column - t * widthPx * axis.row,
      row: centre.row + s * pitchPx * axis.row + t * widthPx * axis.column,
    })),
  )
}

/** Whether a place lies on the tablet or within `marginPx` of it. */
function tabletArea(found: FoundTablet, marginPx: number): (column: number, row: number) => boolean {
  const first = found.centres[0]!
  const last = found.centres.at(-1)!
  const middle = { column: (first.column + last.column) / 2, row: (first.row + last.row) / 2 }
  const halfLength = (found.centres.length * found.pitchPx) / 2 + marginPx
  const halfWidth = found.widthPx / 2 + marginPx
  return (column, row) => {
    const dc = column - middle.column
    const dr = row - middle.row
    return (
      Math.abs(dc * found.axis.column + dr * found.axis.row) <= halfLength &&
      Math.abs(dr * found.axis.column - dc * found.axis.row) <= halfWidth
    )
  }
}

/** Deepest density of a 1 mm square on a film in the tablet's surroundings, flare counted too; rounded down to 0.01. */
function toldThroughFlare(calibration: Calibration, squareNoise: number): number {
  const scale = lightScale(calibration)
  const { flare } = calibration
  if (flare === undefined || flare === null) return Number.POSITIVE_INFINITY
  const surround = calibration.steps.findLast(step => step.trusted)!.surround!
  let told = 0
  for (let density = 0; density <= 6; density += 0.01) {
    const light = (10 ** -density + flareLight(flare, surround)) / (1 + flare.share)
    if (scale.density(scale.code(light), squareNoise, surround).bound !== null) break
    told = density
  }
  return Math.floor(told * 100 + 1e-6) / 100
}

/** The calibration with the sharpness seen on an edge scan, made light by the calibration itself. */
function withSharpness(
  calibration: Calibration,
  edge: { readonly scan: OpenScan; readonly sha256: string },
  told: number | undefined,
): Calibration {
  const dpi = resolution(edge.scan, told)
  const umPerPixel = { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
  const { across, along, warnings } = lineSpread(edge.scan, lightScale(calibration), umPerPixel)
  return {
    ...calibration,
    sharpness: { sha256: edge.sha256, dpi, across, along },
    warnings: [...calibration.warnings, ...warnings],
  }
}

function resolution(scan: OpenScan, told: number | undefined): Dpi {
  const dpi = told === undefined ? scan.header.dpi : { across: told, along: told }
  if (dpi === null) throw new ProblemError('RESOLUTION_MISSING')
  for (const value of [dpi.across, dpi.along])
    if (!(value >= LEAST_DPI && value <= GREATEST_DPI))
      throw new ProblemError('RESOLUTION_IMPLAUSIBLE', `${value} dpi; ${LEAST_DPI} to ${GREATEST_DPI} can be`)
  if (!(Math.abs(dpi.across / dpi.along - 1) < 0.02))
    throw new ProblemError(
      'RESOLUTION_IMPLAUSIBLE',
      `${dpi.across} dpi across and ${dpi.along} along; a calibration needs the same both ways`,
    )
  return dpi
}

function surveyOf(scan: OpenScan, umPerPixel: number) {
  const { width, height } = scan.header
  const blockPx = Math.max(1, Math.round((BLOCK_MM * 1000) / umPerPixel))
  if (!(Math.min(width, height) >= 10 * blockPx && Math.max(width, height) >= 40 * blockPx))
    throw new ProblemError('TABLET_NOT_FOUND', `the page of ${width} x ${height} px is too small to hold a tablet`)
  return pageSurvey(scan, blockPx)
}

/** A page that is mostly at the top code shows no tablet to find: say what is wrong, not that none was found. */
function refuseBurntOut(fullShare: Float32Array): void {
  let full = 0
  for (let i = 0; i < fullShare.length; i++) if (fullShare[i]! > 0.9) full++
  const share = full / fullShare.length
  if (!(share <= 0.02))
    throw new ProblemError('CALIBRATION_CLIPPED', `${(100 * share).toFixed(0)} % of the page is at the top code 65535`)
}
