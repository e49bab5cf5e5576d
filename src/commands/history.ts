import { type App, formatReading, formatTime, nearestName } from '../app.js'
import type { Inspection } from '../model/inspection.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

/** `burngate history ID`: every inspection of one positive, oldest first, with its forecast, and the page of its history. */
export async function historyCommand(
  positive: string,
  options: { readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const inspections = await workspace.store.byPositive(positive.normalize('NFC'))
    if (options.json === true) for (const inspection of inspections) terminal.out(JSON.stringify(inspection))
    else if (inspections.length > 0) {
      const acceptances = await workspace.store.acceptancesOf(positive.normalize('NFC'))
      const reasonOf = (i: Inspection) =>
        [
          i.findings.find(f => f.verdict === i.verdict && f.verdict !== 'pass')?.why ?? '',
          ...acceptances.flatMap(a => (a.inspection === i.id ? [`Accepted by ${a.by}: ${a.because}`] : [])),
        ]
          .filter(text => text !== '')
          .join(' ')
      for (const line of tableLines([
        ['scanned', 'verdict', 'job type', 'solid', 'rise width', 'edge growth', 'reason'],
        ...inspections.map(i => [
          formatTime(i.scannedAt),
          i.verdict,
          i.jobType,
          readingText(i, 'solidDensity'),
          readingText(i, 'riseWidth'),
          readingText(i, 'edgeGrowth'),
          reasonOf(i),
        ]),
      ]))
        terminal.say(line)
      const { page, says } = await workspace.writeHistory(inspections)
      terminal.say(says)
      const uses = (await workspace.store.stored()).find(film => film.positive === inspections[0]!.positive)?.uses ?? 0
      if (uses > 0) terminal.say(`Used ${uses === 1 ? 'once' : `${uses} times`}.`)
      terminal.say(`History: ${page}`)
      terminal.say(`Newest report: ${workspace.reportOf(inspections.at(-1)!)}`)
    }
    if (inspections.length === 0) {
      const near = nearestName(
        positive,
        (await workspace.store.board()).map(row => row.positive),
      )
      terminal.say(
        `There is no inspection of "${plain(positive)}"${near === null ? '' : `; did you mean "${plain(near)}"?`}`,
      )
    }
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

function readingText(inspection: Inspection, name: ReadingName): string {
  const reading = inspection.readings[name]
  if (reading === undefined) return '-'
  return formatReading(reading, READINGS[name].decimals, {
    rulingUnit: 'lines/in',
    calibrated: inspection.scanner !== null,
  }).text
}
