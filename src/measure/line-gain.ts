import { median, robustDeviation } from '../imaging/robust.js'
import type { Component } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { noStrip } from './strip-reading.js'

export const LINE_GAIN_METHOD = 'lineGain@1'

/** The median of n normal values is this much less certain than their mean: sqrt(pi / 2). */
const MEDIAN_PENALTY = 1.2533

/**
 * How much ink widens lines: the middle one, over all lines of the control strip, of the measured width less the width sent to the printer
 * (for gaps: the width sent less the measured one). um, either side of 0. Widths are told where light is 60 % of the way from base to solid
 * (ISO/IEC 13660 manner), the scanner taken out through the stroke model: strip-lines.ts. Assumes the strip's own layout. Error floor: 0.5 um a line.
 */
export function measureLineGain({ strip }: FilmEvidence): Measured {
  if (strip === undefined) return noStrip('lineGain', 'lines')
  const { lines, lost } = strip
  if (lines.length === 0)
    return notMeasured(
      'lineGain',
      lost[0] === undefined
        ? 'no edge of the control strip could be measured'
        : `none of its lines could be measured: ${lost[0].because}`,
      'scan at 1200 dpi with the whole strip in view',
    )
  const gains = lines.map(line => line.gainUm)
  const own = median(lines.map(line => Math.hypot(...line.own.map(component => component.standard))))
  const scatter = lines.length >= 4 ? robustDeviation(gains) : 0
  const each = Math.max(own, scatter)
  const sensitivity = (lines.length > 2 ? MEDIAN_PENALTY : 1) / Math.sqrt(lines.length)
  const mean = (of: (line: (typeof lines)[number]) => number) =>
    lines.reduce((sum, line) => sum + of(line), 0) / lines.length
  const steps = lines[0]!.scale.map((_, k) => mean(line => (line.polarity === 'positive' ? 1 : -1) * line.scale[k]!))
  const budget: Component[] = [
    {
      name: 'lines',
      standard: each * sensitivity,
      type: 'A',
      input: { standard: each, unit: 'um' },
      sensitivity,
      degreesOfFreedom: scatter > own ? lines.length - 1 : null,
    },
    { name: 'scanner', standard: Math.abs(mean(line => line.scanner)), type: 'B', degreesOfFreedom: null },
    { name: 'light scale', standard: Math.hypot(...steps), type: 'B', degreesOfFreedom: null },
  ]
  return {
    value: median(gains),
    unit: 'um',
    ...expandedUncertainty(budget),
    bound: null,
    n: lines.length,
    parts: lines.map((line, i) => ({
      id: `strip-line-${i + 1}`,
      place: line.place,
      value: line.gainUm,
      expanded: line.expanded,
      bound: null,
      note: `${line.polarity === 'positive' ? 'line' : 'gap'} of ${line.intendedUm.toFixed(0)} um along the ${line.direction}`,
    })),
    budget,
    method: LINE_GAIN_METHOD,
  }
}
