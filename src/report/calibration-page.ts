import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Calibration, Expanded, Flare, GridScale, LineSpread, ResponseCurve } from '../model/calibration.js'
import { drawChart } from './draw-chart.js'
import { acrossChart, glassChart } from './flat-chart.js'
import { formatReading } from './format-reading.js'
import { formatTime } from './format-time.js'
import { renderTemplate } from './render-template.js'

/** Two decimals of density, cut and never rounded up: a depth is a promise. */
const cutDensity = (density: number) => (Math.floor(density * 100 + 1e-9) / 100).toFixed(2)
const MANNER = { calibrated: true, rulingUnit: 'lines/in' } as const

/**
 * The page of one calibration: how deep the scanner sees, its response with residuals, sharpness, every step, origin.
 * One self-contained HTML document; everything that came from a file or a person is escaped.
 */
export function calibrationPage(calibration: Calibration): string {
  const { scan, response, tablet, steps, sharpness } = calibration
  const dpi =
    scan.dpi.across === scan.dpi.along
      ? `${round(scan.dpi.across)} dpi`
      : `${round(scan.dpi.across)} × ${round(scan.dpi.along)} dpi`
  const used = steps.filter(step => step.trusted)
  const lastUsed = used.at(-1)
  const past =
    lastUsed !== undefined && calibration.deepest > lastUsed.density + 0.005
      ? ` The tablet itself vouches down to ${cutDensity(lastUsed.density)}; deeper, the formula goes on with a growing uncertainty.`
      : ''
  return renderTemplate('calibration', {
    title: `Calibration of ${calibration.scanner}, ${dpi}`,
    scanner: calibration.scanner,
    setting: dpi,
    statement: `It tells densities apart down to ${cutDensity(calibration.deepest)} D. Deeper film is reported as “at least”, never as a number.${past}`,
    warnings: calibration.warnings,
    curveChart: curveChart(calibration),
    residualChart: residualChart(calibration),
    facts: facts(calibration),
    spreadChart: sharpness === null ? null : spreadChart(sharpness.across, sharpness.along),
    sharpness:
      sharpness === null
        ? []
        : [
            { name: 'Rise width across', value: riseText(sharpness.across) },
            { name: 'Rise width along', value: riseText(sharpness.along) },
            { name: 'Edge scanned at', value: `${round(sharpness.dpi.across)} dpi` },
          ],
    noSharpness: sharpness === null,
    size: sizeView(calibration),
    flat: flatView(calibration),
    stepsCaption: `${used.length} of ${steps.length} steps are used`,
    steps: steps.map(step => ({
      step: step.step,
      density: `${step.density.toFixed(3)} ± ${step.expanded.toFixed(3)}`,
      code: `${step.code.toFixed(1)} ± ${step.codeError.toFixed(1)}`,
      noise: step.pixelNoise.toFixed(1),
      residual: signed(step.residual, 3),
      used: step.trusted ? 'yes' : 'no',
    })),
    origin: [
      { name: 'Calibrated', value: formatTime(calibration.calibratedAt) },
      { name: 'Tablet', value: tablet.nominal ? `${tablet.name} (nominal: nobody measured its steps)` : tablet.name },
      { name: 'Scan', value: scan.file },
      { name: 'SHA-256', value: scan.sha256 },
      { name: 'Channel', value: `${scan.channel}, ${scan.bits} bits` },
      {
        name: 'Maker and model in the file',
        value: [scan.maker, scan.model].filter(x => x !== null).join(' ') || 'none',
      },
      { name: 'Root mean square residual', value: `${response.fitResidual.toFixed(4)} D` },
    ],
    software: calibration.software,
  })
}

/** Below this share of open light flare moves no density that a scanner tells. */
const NO_FLARE = 5e-7

function flareWords(flare: Flare | null): string {
  if (flare === null) return 'not looked for'
  const { share, standard } = flare
  const size =
    share < NO_FLARE ? 'none told' : `${(100 * share).toFixed(3)} ± ${(200 * standard).toFixed(3)} % of the light`
  return `${size}; taken off place by place`
}

function facts(calibration: Calibration): { name: string; value: string }[] {
  const { response, openLight, dark } = calibration
  const veil = response.veil ?? 0
  return [
    {
      name: 'Deepest density',
      value: `${cutDensity(calibration.deepest)} D`,
    },
    {
      name: 'Open light',
      value:
        openLight === null
          ? 'not in view'
          : `code ${openLight.code.toFixed(0)}, noise ${openLight.pixelNoise.toFixed(1)}, ${(100 * openLight.clippedShare).toFixed(1)} % clipped`,
    },
    {
      name: 'Opaque holder or card',
      value:
        dark === null
          ? 'not in view'
          : `code ${dark.code.toFixed(1)} ± ${dark.codeError.toFixed(1)}, noise ${dark.pixelNoise.toFixed(1)}`,
    },
    {
      name: 'Code of no light',
      value: `${response.black.toFixed(1)} ± ${(2 * response.blackError).toFixed(1)} (k = 2)`,
    },
    { name: 'Gamma', value: response.gamma.toFixed(3) },
    {
      name: 'Stray light, everywhere alike',
      value: veil < 5e-7 ? 'none told' : `${(100 * veil).toFixed(3)} % of open light`,
    },
    { name: 'Flare of bright surroundings', value: flareWords(calibration.flare ?? null) },
  ]
}

/** Code by the formula, as `ResponseCurve` defines it. */
function formulaCode(curve: ResponseCurve, density: number): number {
  const veil = curve.veil ?? 0
  return curve.black + curve.gain * ((10 ** -density + veil) ** (1 / curve.gamma) - veil ** (1 / curve.gamma))
}

function curveChart(calibration: Calibration): Handlebars.SafeString {
  const { response, steps, deepest, dark } = calibration
  const end = Math.max(deepest, steps.at(-1)!.density) * 1.08
  const line = Array.from({ length: 121 }, (_, i) => {
    const density = (end * i) / 120
    return { density, code: formulaCode(response, density) }
  }).filter(point => point.code >= 1)
  const dots = steps.map(step => ({ density: step.density, code: Math.max(1, step.code), trusted: step.trusted }))
  const codes = [...line, ...dots].map(point => point.code)
  const low = 0.7 * Math.min(...codes, dark === null ? 65535 : Math.max(1, dark.code))
  return drawChart(
    `Code the scanner gives against density: from ${Math.max(...codes).toFixed(0)} at no film down to ${Math.min(...codes).toFixed(0)}; densities are told apart down to ${cutDensity(deepest)}.`,
    {
      height: 300,
      marginLeft: 52,
      marginRight: 14,
      marginTop: 24,
      marginBottom: 38,
      x: { domain: [0, end], label: 'density, D', labelAnchor: 'center', labelArrow: 'none', ticks: 7 },
      y: {
        type: 'log',
        domain: [low, 80_000],
        label: 'code',
        labelArrow: 'none',
        ticks: 5,
        tickFormat: (code: number) => `${code}`,
      },
      marks: [
        Plot.rect([0], { x1: deepest, x2: end, y1: low, y2: 80_000, fill: 'url(#not-allowed)' }),
        Plot.ruleX([deepest], { strokeWidth: 2.5 }),
        Plot.text([`deepest ${cutDensity(deepest)}`], {
          x: deepest,
          y: 55_000,
          dx: -6,
          textAnchor: 'end',
          fontWeight: 700,
        }),
        ...(dark === null
          ? []
          : [
              Plot.ruleY([Math.max(1, dark.code)], { strokeDasharray: '1 4', strokeLinecap: 'round', strokeWidth: 2 }),
              Plot.text(['opaque'], { x: 0, y: Math.max(1, dark.code), dx: 6, dy: -8, textAnchor: 'start' }),
            ]),
        Plot.line(line, { x: 'density', y: 'code', strokeWidth: 1.5, strokeDasharray: '5 3' }),
        Plot.dot(dots, {
          x: 'density',
          y: 'code',
          r: 3.5,
          fill: (step: { trusted: boolean }) => (step.trusted ? 'currentColor' : 'white'),
          stroke: 'currentColor',
          strokeWidth: 1.5,
        }),
      ],
      color: { type: 'identity' },
    },
  )
}

function residualChart(calibration: Calibration): Handlebars.SafeString {
  const { steps, deepest } = calibration
  const end = Math.max(deepest, steps.at(-1)!.density) * 1.08
  const used = steps.filter(step => step.trusted)
  const reach = 1.15 * Math.max(0.01, ...used.map(step => Math.max(Math.abs(step.residual), step.expanded)))
  const worst = Math.max(...used.map(step => Math.abs(step.residual)))
  return drawChart(`Difference between formula and certificate at each step: at most ${worst.toFixed(3)} D.`, {
    height: 300,
    marginLeft: 52,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 38,
    x: { domain: [0, end], label: 'density, D', labelAnchor: 'center', labelArrow: 'none', ticks: 7 },
    y: {
      domain: [-reach, reach],
      label: 'formula less certificate, D',
      labelArrow: 'none',
      ticks: 5,
      tickFormat: (value: number) => signed(value, 2),
    },
    marks: [
      Plot.ruleY([0], { strokeWidth: 1.5 }),
      Plot.ruleX(used, {
        x: 'density',
        y1: step => -step.expanded,
        y2: step => step.expanded,
        strokeWidth: 5,
        strokeOpacity: 0.28,
      }),
      Plot.dot(used, { x: 'density', y: 'residual', r: 3.5, fill: 'currentColor' }),
    ],
  })
}

function spreadChart(across: LineSpread | null, along: LineSpread | null): Handlebars.SafeString {
  const points = (spread: LineSpread | null) => {
    if (spread === null) return []
    const middle = (spread.weights.length - 1) / 2
    const top = Math.max(...spread.weights)
    return spread.weights.map((weight, i) => ({ x: (i - middle) * spread.stepUm, y: weight / top }))
  }
  const widest = Math.max(across?.riseWidth ?? 0, along?.riseWidth ?? 0)
  const near = (list: { x: number; y: number }[]) => list.filter(point => Math.abs(point.x) <= 1.6 * widest)
  return drawChart(`Line spread: ${riseText(across)} across, ${riseText(along)} along.`, {
    height: 230,
    marginLeft: 44,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 38,
    x: { label: 'distance, µm', labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
    y: { domain: [0, 1.05], label: 'light, of its peak', labelArrow: 'none', ticks: 4 },
    marks: [
      Plot.ruleY([0]),
      Plot.line(near(points(across)), { x: 'x', y: 'y', strokeWidth: 2 }),
      Plot.line(near(points(along)), { x: 'x', y: 'y', strokeWidth: 2, strokeDasharray: '5 3' }),
    ],
  })
}

function sizeView({ size, scan }: Calibration) {
  if (size === undefined || size === null) return null
  const off = ({ value, expanded }: Expanded) => `${signed(100 * (value - 1), 3)} ± ${(100 * expanded).toFixed(3)} %`
  const um = (ratio: number, dpi: number) => `${((ratio * 25_400) / dpi).toFixed(3)} µm`
  const { across, along, squareness } = size
  const times = arrowTimes(size)
  return {
    times,
    chart: nodesChart(size, times),
    facts: [
      { name: 'Pixel across', value: `${um(across.value, scan.dpi.across)}, ${off(across)} against the resolution` },
      { name: 'Pixel along', value: `${um(along.value, scan.dpi.along)}, ${off(along)} against the resolution` },
      {
        name: 'Axes off square',
        value: `${signed(squareness.value, 3)} ± ${squareness.expanded.toFixed(3)} degrees`,
      },
      { name: 'Nodes off an even grid', value: `${(1000 * size.residualMm).toFixed(1)} µm (rms)` },
      {
        name: 'Grid',
        value: `${size.nodes} nodes of ${size.pitchMm}${size.pitchExpandedMm === undefined ? '' : ` ± ${Number(size.pitchExpandedMm.toPrecision(2))}`} mm pitch, turned by ${signed(size.turn, 2)} degrees`,
      },
    ],
  }
}

function flatView({ flat, uneven }: Calibration) {
  if (flat === undefined || flat === null)
    return { none: uneven === undefined ? '' : `${(100 * (1 - 10 ** (-Math.sqrt(3) * uneven))).toFixed(1)} %` }
  const { uniformity, lateral, tested, scans, tablet } = flat
  const off = Math.max(0, ...flat.areas.map(area => Math.abs(area.residual)))
  const what = scans.map(({ kind, density }) =>
    kind === 'open' ? 'the bare glass' : `a film of ${density.toFixed(2)} D`,
  )
  return {
    glass: glassChart(flat),
    across: acrossChart(flat),
    facts: [
      { name: 'Scanned', value: what.join(' and ') },
      {
        name: 'Light against its mean',
        value: `${signed(uniformity.least, 1)} to ${signed(uniformity.greatest, 1)} %, ${uniformity.rms.toFixed(1)} % rms`,
      },
      {
        name: 'Left by the map',
        value: `${(100 * (10 ** flat.standard - 1)).toFixed(2)} % rms in spots, at most ${off.toFixed(2)} % over an area`,
      },
      {
        name: 'Tested',
        value: `${tested.left.toFixed(0)} to ${tested.right.toFixed(0)} mm across and ${tested.top.toFixed(0)} to ${tested.bottom.toFixed(0)} mm down, of ${flat.widthMm.toFixed(1)} × ${flat.heightMm.toFixed(1)} mm; ${(100 * flat.maskedShare).toFixed(1)} % of it left out (dust, scratches, labels, rims)`,
      },
      {
        name: 'Density 100 mm from the mid-line',
        value: lateral.measured
          ? `${signed(100 * lateral.share, 2)} ± ${(200 * lateral.standard).toFixed(2)} %, taken out`
          : `not measured: may read up to ${(200 * lateral.standard).toFixed(1)} % too deep; U holds it`,
      },
      {
        name: 'The tablet’s own steps',
        value:
          tablet.across && tablet.along
            ? 'corrected too'
            : tablet.across || tablet.along
              ? 'corrected in one direction'
              : 'not corrected: scanned in another window',
      },
    ],
  }
}

/** A round number of times that makes the longest offset about half a pitch of the map. */
function arrowTimes({ residuals, nodes, pitchMm }: GridScale): number {
  const longest = Math.max(1e-5, ...residuals.map(area => Math.hypot(area.acrossMm, area.alongMm)))
  const apart = pitchMm * Math.sqrt(nodes / Math.max(1, residuals.length))
  return 10 ** Math.floor(Math.log10((0.7 * apart) / longest))
}

/** Offsets as lines from where the areas lie: a dot at the even place, the line to where the nodes are. */
function nodesChart(size: NonNullable<Calibration['size']>, times: number): Handlebars.SafeString {
  const mm = { across: 25.4 / size.dpi.across, along: 25.4 / size.dpi.along }
  const points = size.residuals.map(area => {
    const x = area.column * mm.across
    const y = area.row * mm.along
    return { x, y, toX: x + times * area.acrossMm, toY: y + times * area.alongMm }
  })
  const worst = Math.max(0, ...size.residuals.map(area => Math.hypot(area.acrossMm, area.alongMm)))
  return drawChart(`Nodes lie off the even grid by up to ${(1000 * worst).toFixed(1)} µm, as means of areas.`, {
    height: 300,
    marginLeft: 52,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 38,
    inset: 20,
    x: { label: 'across, mm', labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
    y: { label: 'along, mm', labelArrow: 'none', ticks: 5, reverse: true },
    marks: [
      Plot.link(points, { x1: 'x', y1: 'y', x2: 'toX', y2: 'toY', strokeWidth: 2 }),
      Plot.dot(points, { x: 'x', y: 'y', r: 3, fill: 'currentColor' }),
    ],
  })
}

function riseText(spread: LineSpread | null): string {
  if (spread === null) return 'not measured'
  const { riseWidth: value, riseWidthExpanded: expanded } = spread
  return formatReading({ value, expanded, bound: null, unit: 'um' }, 1, MANNER).text
}

function signed(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals)
  return Number(text) === 0 ? text : `${value < 0 ? '−' : '+'}${text}`
}

function round(value: number): string {
  return String(Math.round(value))
}
