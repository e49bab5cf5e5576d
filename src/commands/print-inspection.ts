import { formatLimit, formatReading } from '../app.js'
import type { Inspection } from '../model/inspection.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import { tableLines } from './print-table.js'
import { plain } from './say-problem.js'

/** What a person reads of one inspection: the word, the worst reason, what to do, every reading, where the report is. */
export function inspectionLines(inspection: Inspection, report: string | null): string[] {
  const { verdict, positive, jobType, findings } = inspection
  const worst = findings[0]
  const lines = [`${verdict.toUpperCase()}  ${plain(positive)}  (${jobType}, ${plain(inspection.scan.file)})`]
  if (worst !== undefined) lines.push(`  ${sentence(worst.why)}`)
  if (worst !== undefined && worst.next !== '') lines.push(`  To do: ${sentence(worst.next)}`)
  lines.push('', ...readingLines(inspection).map(line => `  ${line}`))
  // Without a calibration every reading is a recheck for the one reason that stands above already.
  const saidAbove = (name: string) => inspection.scanner === null && name in inspection.readings
  const rest = findings.slice(1).filter(f => f.verdict !== 'pass' && f.why !== worst?.why && !saidAbove(f.reading))
  if (rest.length > 0) lines.push('', ...rest.map(f => `  Also ${f.verdict}: ${sentence(f.why)}`))
  if (inspection.scanner === null) lines.push('', '  No calibration was used: densities are code density.')
  else
    lines.push(
      '',
      `  Scanner ${inspection.scanner.name}, calibrated ${inspection.scanner.calibratedAt.slice(0, 10)} with ${plain(inspection.scanner.tablet)}.`,
    )
  for (const note of inspection.notes) lines.push(`  Note: ${sentence(note)}`)
  if (report !== null) lines.push(`  Report: ${report}`)
  return lines
}

function readingLines({ readings, findings, scanner }: Inspection): string[] {
  const manner = { rulingUnit: 'lines/in', calibrated: scanner !== null } as const
  const names = (Object.keys(READINGS) as ReadingName[]).filter(name => readings[name] !== undefined)
  if (names.length === 0) return ['Nothing could be measured.']
  return tableLines([
    ['reading', 'value', 'limit', 'verdict'],
    ...names.map(name => {
      const reading = readings[name]!
      const finding = findings.find(f => f.reading === name)
      const { min, max } = finding?.limit ?? {}
      const limits = [
        ...(min === undefined ? [] : [`at least ${formatLimit(min, reading.unit, manner)}`]),
        ...(max === undefined ? [] : [`at most ${formatLimit(max, reading.unit, manner)}`]),
      ]
      return [
        READINGS[name].label,
        formatReading(reading, READINGS[name].decimals, manner).text,
        limits.join(', ') || '-',
        finding?.verdict ?? '-',
      ]
    }),
  ])
}

function sentence(text: string): string {
  const flat = plain(text).replaceAll('\u00a0', ' ').trim()
  return `${flat.slice(0, 1).toUpperCase()}${flat.slice(1)}${/[.!?]$/.test(flat) ? '' : '.'}`
}
