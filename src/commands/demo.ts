import { mkdir, readdir, rename, rm, stat, writeFile } from 'node:fs/promises'
import { basename, join, relative, resolve } from 'node:path'
import { type App, demoShop, type WatchEvent } from '../app.js'
import { ProblemError } from '../model/problem.js'
import { EXIT } from './exit-code.js'
import { ladderLines } from './print-ladder.js'
import { tableLines } from './print-table.js'
import { plain } from './say-problem.js'
import { endingOf } from './watch.js'

/** Lies in a demo shop, and nowhere else: only a folder that has it is ever cleared. */
const MARKER = 'made-by-burngate-demo.txt'
const DAY_MS = 86_400_000
/** Signals named on the terminal; the page has all. */
const MOST_SIGNALS = 3

/**
 * `burngate demo [DIR]`: makes a shop with its scans, calibrates its scanner, works its inbox off and says where to look.
 * A demo made before in the same folder is made anew; any other folder that holds files is refused.
 */
export async function demoCommand(folder: string, app: App): Promise<number> {
  const { terminal } = app
  const begun = app.tick()
  const root = resolve(app.cwd, folder)
  await clearOldDemo(root)
  const { DEMO_SCANNER, DEMO_SHOP, demoScans, demoWeeks, writeDemoScan, ...shop } = await demoShop()
  const paths = await app.initWorkspace(root, { shop: DEMO_SHOP, settleSeconds: 0.2, sidecarWaitSeconds: 0 })
  await writeFile(
    join(root, MARKER),
    'This folder was made by `burngate demo`, which clears and makes it anew each time it is run. Keep nothing here.\n',
  )
  const workspace = await app.openWorkspace(root)
  try {
    // Yesterday, so that nothing is dated in the future whatever the hour.
    const lastDay = app.now().getTime() - DAY_MS
    const scans = demoScans(dayOf(lastDay))
    terminal.say(`Making ${DEMO_SHOP} in ${root} ...`)
    const tablets = join(root, 'tablet')
    const made = new Map<string, Awaited<ReturnType<typeof writeDemoScan>>>()
    for (const scan of scans.filter(s => s.kind === 'tablet' || s.kind === 'knifeEdge'))
      made.set(scan.kind, await writeDemoScan(scan, tablets))
    const tablet = made.get('tablet')!
    const { calibration } = await workspace.calibrate({
      scan: tablet.scan,
      scanner: DEMO_SCANNER,
      tablet: tablet.certificate!,
      edge: made.get('knifeEdge')?.scan ?? null,
    })
    terminal.say(
      `Calibrated ${DEMO_SCANNER}: tells density down to ${(Math.floor(calibration.deepest * 100) / 100).toFixed(2)}.`,
    )
    const stories = scans.filter(s => s.kind !== 'tablet' && s.kind !== 'knifeEdge')
    const positives = [...stories, ...demoWeeks(dayOf(lastDay))]
    terminal.say(`Dropping ${positives.length} scans into the inbox; each is inspected while the next is made ...`)
    const events: WatchEvent[] = []
    const ended = new AbortController()
    const watching = workspace.watch({
      once: false,
      // Every scan is dropped whole, so one that is cut short stays so.
      patienceSeconds: 0,
      stop: ended.signal,
      tell: event => {
        events.push(event)
        if (events.filter(e => endingOf(e) !== null).length === positives.length) ended.abort()
      },
    })
    // Should watching fail, it is heard of below, after the scans.
    watching.catch(() => ended.abort())
    for (const scan of positives) {
      if (ended.signal.aborted) break
      await drop(await writeDemoScan(scan, join(paths.own, 'scanner')), paths.inbox)
    }
    // The rows are made while the last scans are inspected.
    const ladder = await makeLadder(shop, join(root, 'ladder'), scans.at(-1)!.scannedAt)
    await watching
    const { signals } = await workspace.writeProcess()
    await workspace.writeBoard()
    const tag = await workspace.writeHistory(await workspace.store.byPositive('quay-tag'))
    await workspace.writeBoard()
    const read = await app.readLadder({ ...ladder, scanner: DEMO_SCANNER }, { folder: root })
    terminal.say('')
    const shown = events
      .filter(event => placeOf(event, positives) < stories.length)
      .sort((a, b) => placeOf(a, positives) - placeOf(b, positives))
      .flatMap(rowsOf)
    for (const line of tableLines([['file', 'verdict', 'why'], ...shown], 100)) terminal.say(line)
    terminal.say('')
    terminal.say(`Five weeks of ${positives.length - stories.length} small films beside them:`)
    for (const { says } of signals.slice(0, MOST_SIGNALS)) terminal.say(`SIGNAL ${plain(says)}`)
    if (signals.length > MOST_SIGNALS) terminal.say(`  and ${signals.length - MOST_SIGNALS} more, on the page`)
    terminal.say(`quay-tag: ${tag.says}`)
    terminal.say('')
    for (const line of ladderLines(read)) terminal.say(line)
    terminal.say('')
    terminal.say(`Look at    ${relative(app.cwd, paths.board) || paths.board}   (open it in a browser)`)
    terminal.say(`Ladder     ${relative(app.cwd, read.page) || read.page}   (its scans and plan lie in ladder/)`)
    terminal.say(`Rejected   ${relative(app.cwd, paths.rejected)}   (a .txt beside each file says why)`)
    terminal.say(`Process    ${relative(app.cwd, paths.process) || paths.process}   (charts of every printer)`)
    terminal.say(`Forecast   ${relative(app.cwd, tag.page) || tag.page}`)
    terminal.say(
      `Try next   burngate event "new head" --printer ${shop.CHECKED_PRINTER} --on ${dayOf(lastDay - shop.NEW_HEAD_DAYS_BEFORE * DAY_MS)} --workspace ${relative(app.cwd, root) || '.'}`,
    )
    terminal.say(`           burngate history reef-label --workspace ${relative(app.cwd, root) || '.'}`)
    terminal.say(`Took ${((app.tick() - begun) / 1000).toFixed(0)} s.`)
    // A demo that shows fails and rechecks has worked; only what could not be shown at all is an error.
    return events.some(event => endingOf(event) === 'fault') ? EXIT.fault : EXIT.pass
  } finally {
    await workspace.close()
  }
}

const dayOf = (ms: number) => new Date(ms).toISOString().slice(0, 10)

/** Plan and scans of the ink ladder, written to a folder. */
async function makeLadder(
  {
    DEMO_LADDER_PLAN,
    demoLadder,
    writeDemoLadderScan,
  }: Pick<Awaited<ReturnType<typeof demoShop>>, 'DEMO_LADDER_PLAN' | 'demoLadder' | 'writeDemoLadderScan'>,
  folder: string,
  dateTime: string,
): Promise<{ readonly plan: string; readonly scans: readonly string[] }> {
  await mkdir(folder, { recursive: true })
  const plan = join(folder, 'spring-films.yaml')
  await writeFile(plan, DEMO_LADDER_PLAN)
  const scans: string[] = []
  for (const scan of demoLadder()) {
    const file = join(folder, scan.fileName)
    await writeDemoLadderScan(scan, file, dateTime)
    scans.push(file)
  }
  return { plan, scans }
}

/** As a scanner program should: the whole file at once, its sidecar before it. */
async function drop(made: { readonly scan: string; readonly sidecar: string | null }, inbox: string): Promise<void> {
  if (made.sidecar !== null) await rename(made.sidecar, join(inbox, basename(made.sidecar)))
  await rename(made.scan, join(inbox, basename(made.scan)))
}

async function clearOldDemo(root: string): Promise<void> {
  const names = await readdir(root).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return null
    throw new ProblemError('WORKSPACE_NOT_EMPTY', `${root} (${error.code})`)
  })
  if (names === null || names.length === 0) return
  const marked = await stat(join(root, MARKER)).catch(() => null)
  if (marked === null) throw new ProblemError('WORKSPACE_NOT_EMPTY', root)
  // The marker goes last, so that a clearing that was cut off is still known as a demo.
  for (const name of names.filter(n => n !== MARKER)) await rm(join(root, name), { recursive: true, force: true })
  await rm(join(root, MARKER))
}

function placeOf(event: WatchEvent, scans: readonly { readonly fileName: string }[]): number {
  return 'file' in event ? scans.findIndex(scan => scan.fileName === event.file) : scans.length
}

function rowsOf(event: WatchEvent): string[][] {
  if (event.kind === 'inspected') {
    const { inspection } = event.outcome
    return [[event.file, inspection.verdict.toUpperCase(), plain(inspection.findings[0]?.why ?? '')]]
  }
  if (event.kind === 'rejected' || event.kind === 'held')
    return [[event.file, event.kind === 'held' ? 'WAITING' : 'REJECTED', event.problem.what]]
  return event.kind === 'fault' ? [[event.file, 'FAULT', String(event.error)]] : []
}
