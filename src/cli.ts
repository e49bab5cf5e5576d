#!/usr/bin/env node
import { readFileSync } from 'node:fs'
import { setFlagsFromString } from 'node:v8'
import { Command, CommanderError, Option } from 'commander'
import type { App } from './app.js'
import { ProblemError } from './model/problem.js'
import type { WorkerThreads } from './pipeline/worker-threads.js'

// Only what the command line itself needs is loaded here; each command loads the rest when it is called.

// What is hot in an inspection is compiled ahead; the rest runs too briefly to earn back V8's optimising compiler as early as V8 asks it
// (measured: 6 to 8 % of an inspection's processor time less).
setFlagsFromString('--interrupt-budget=500000')

const USAGE = 64
const NOT_INSPECTED = 3
const FAULT = 70
/** Problems that mean the command line named the wrong thing. */
const USAGE_PROBLEMS: ReadonlySet<string> = new Set([
  'WORKSPACE_MISSING',
  'WORKSPACE_NOT_EMPTY',
  'SCANNER_NAME_INVALID',
  'INSPECTION_UNKNOWN',
  'ACCEPTANCE_INCOMPLETE',
  'ACCEPTANCE_NOT_NEEDED',
  'RETIREMENT_INCOMPLETE',
  'USE_INVALID',
  'EVENT_INVALID',
  'SERVE_ADDRESS_UNUSABLE',
  'LADDER_PLAN_INVALID',
  'LADDER_PAPER_TOO_SMALL',
  'WEAR_PAIRS_INCOMPLETE',
])

const version: string = JSON.parse(readFileSync(new URL('../package.json', import.meta.url), 'utf8')).version
let code = 0

/** Runs a command with the real world around it and turns whatever it throws into a line and an exit status. */
async function run(
  options: { readonly json?: unknown },
  command: (app: App) => Promise<number>,
  workers?: WorkerThreads,
): Promise<void> {
  const { createApp, realWorld } = await import('./app.js')
  const app = createApp({ ...realWorld(), ...(workers === undefined ? {} : { workers }) })
  try {
    code = await command(app)
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    const { problemLine, sayProblem } = await import('./commands/say-problem.js')
    if (options.json === true) app.terminal.out(problemLine(error.problem, null))
    sayProblem(app.terminal, error.problem)
    code = USAGE_PROBLEMS.has(error.problem.code) ? USAGE : NOT_INSPECTED
  } finally {
    await app.close()
  }
}

const program = new Command('burngate')
  .description('Measures scanned film positives for screen printing and answers pass, fail or recheck.')
  .version(`burngate ${version}`, '-V, --version', 'say the version')
  .helpOption('-h, --help', 'say how it is used')
  .helpCommand('help [command]', 'say how a command is used')
  .showHelpAfterError('(burngate --help says how it is used)')
  .exitOverride()
  .addHelpText(
    'after',
    `
Exit status: 0 all pass, 1 something failed, 2 nothing failed but something needs a recheck, 3 a scan could not be
inspected, 64 the command line was wrong, 70 burngate itself failed. Of several scans the first of 70, 1, 3, 2 that holds.

burngate measures film. It does not decide exposure or safety: exposure lamps emit ultraviolet light that injures eyes
and skin; guard and interlock them as their maker and local rules say.`,
  )

const workspaceOption = ['-w, --workspace <dir>', 'the workspace; without it the current folder, if it is one'] as const
const beforeOption = [
  '--before <date>',
  'which stored positives reach a limit before this date; without it 90 days ahead',
] as const

program
  .command('init')
  .argument('<dir>', 'an empty or new folder')
  .description('make a workspace: settings, job types, inbox')
  .action((folder: string) => run({}, async app => (await import('./commands/init.js')).initCommand(folder, app)))

program
  .command('demo')
  .argument('[dir]', 'where the demo shop is made', 'demo-shop')
  .description('a whole shop in a minute: makes scans, calibrates, watches, reports')
  .action((folder: string) => run({}, async app => (await import('./commands/demo.js')).demoCommand(folder, app)))

program
  .command('inspect')
  .argument('<scan...>', 'TIFF or PNG scans of positives; they stay where they are')
  .description('inspect scans: verdict, readings, report')
  .option(...workspaceOption)
  .option('-t, --job-type <name>', 'the job type that judges them')
  .option('-p, --positive <id>', 'which positive it is')
  .option('-s, --scanner <name>', 'the scanner, as calibrated')
  .option('-o, --out <dir>', 'outside a workspace: write the report here')
  .option('-a, --artwork <file>', 'the 1-bit separation the film was printed from (TIFF or PNG): its size is compared')
  .option('--reprint', 'the positive was printed anew: growth is counted from this scan')
  .option('--bracket', 'the scans are one unmoved film at rising exposure: join them and inspect it once')
  .option('--json', 'one JSON object a scan on standard output, nothing else there')
  .action(async (scans: string[], options) => {
    // Scans are inspected one after the other by a thread that starts while the rest of the program is loaded.
    const workers = (await import('./pipeline/worker-threads.js')).workerThreads()
    workers.begin(1)
    await run(
      options,
      async app => (await import('./commands/inspect.js')).inspectCommand(scans, options, app),
      workers,
    )
  })

program
  .command('watch')
  .description('inspect what is dropped into the inbox')
  .option(...workspaceOption)
  .option('--once', 'work off the inbox, then leave')
  .option('--json', 'one JSON object a scan on standard output, nothing else there')
  .action(options => run(options, async app => (await import('./commands/watch.js')).watchCommand(options, app)))

program
  .command('calibrate')
  .argument('<scan>', 'a scan of a step tablet')
  .description('teach burngate a scanner, from a step tablet')
  .option(...workspaceOption)
  .requiredOption('-s, --scanner <name>', 'what the scanner is called')
  .requiredOption('--tablet <csv>', 'the certificate (step,density[,expanded]), or nominal-21, or nominal-31')
  .option('--edge <scan>', 'a scan of a razor-straight opaque edge at the same setting')
  .option('--grid <scan>', 'a scan of a grid of known pitch at the same setting')
  .option('--grid-pitch <mm>', 'the true pitch of that grid')
  .option(
    '--grid-pitch-u <mm>',
    'its expanded uncertainty (k = 2) by its certificate; 0.05 % of the pitch when not told',
  )
  .option(
    '--flat <scan>',
    'a scan of the whole bare glass, or of bare film that covers it, at the same setting; again for a denser even film',
    (scan: string, before: string[] = []) => [...before, scan],
  )
  .option('--json', 'the calibration as JSON on standard output')
  .action((scan: string, options) =>
    run(options, async app => (await import('./commands/calibrate.js')).calibrateCommand(scan, options, app)),
  )

program
  .command('study')
  .argument('[files...]', 'scans named <positive>__<placement>__<repeat>.tif, or one CSV or YAML with a plan or values')
  .description('is the scanner good enough: a gauge study of repeated scans')
  .option(...workspaceOption)
  .option('-r, --reading <name>', 'which reading; of a table, which column')
  .option('--plan <file>', 'the CSV or YAML that says which scan is of what')
  .option('--tolerance-from <job-type>', 'hold the scanner against the limits of this job type')
  .option('-s, --scanner <name>', 'the scanner, as calibrated')
  .option('-o, --out <dir>', "write the page here and not to the workspace's reports")
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action((files: string[], options) =>
    run(options, async app => (await import('./commands/study.js')).studyCommand(files, options, app)),
  )

const ladder = program
  .command('ladder')
  .description('the ink ladder: the least ink and the fastest mode that still make a good positive')

ladder
  .command('plan')
  .argument('<plan>', 'a YAML file: stocks, modes, levels, the job type to satisfy')
  .description('check a plan: how many sheets and prints, and in what order')
  .option(...workspaceOption)
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action((plan: string, options) =>
    run(options, async app => (await import('./commands/ladder-plan.js')).ladderPlanCommand(plan, options, app)),
  )

ladder
  .command('sheet')
  .argument('<plan>', 'the plan of the ladder')
  .description('draw the sheets to print, in their order, with a page to tick them off')
  .requiredOption('-o, --out <dir>', 'where the sheets are written')
  .option('--each', 'one file a combination, <stock>__<mode>__<level>.png, the strip alone')
  .option(...workspaceOption)
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action((plan: string, options) =>
    run(options, async app => (await import('./commands/ladder-sheet.js')).ladderSheetCommand(plan, options, app)),
  )

ladder
  .command('read')
  .argument('<scan...>', 'scans of the prints, named <stock>__<mode>__<level>.tif')
  .description('which setting to print at: the cheapest that passes, the next safer one, and why no cheaper one does')
  .requiredOption('--plan <file>', 'the plan they were printed by')
  .option(...workspaceOption)
  .option('-s, --scanner <name>', 'the scanner, as calibrated')
  .option('-o, --out <dir>', "write page and record here and not to the workspace's reports")
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action((scans: string[], options) =>
    run(options, async app => (await import('./commands/ladder-read.js')).ladderReadCommand(scans, options, app)),
  )

program
  .command('strip')
  .description('draw the control strip of a positive, to be printed beside its artwork')
  .option(...workspaceOption)
  .requiredOption('-p, --positive <id>', 'which positive it will be printed with')
  .requiredOption('-t, --job-type <name>', 'its job type: the tints take its ruling and angle')
  .requiredOption(
    '--dpi <resolution>',
    "the printer's own resolution: 720, or 1440x720 for 1440 across the head and 720 along the feed",
  )
  .addOption(
    new Option('--form <form>', 'standard: 140 x 15 mm; short: 70 x 15 mm; ladder: 140 x 27 mm')
      .choices(['standard', 'short', 'ladder'])
      .default('standard'),
  )
  .addOption(
    new Option('--laid <way>', 'its long side lies along the head or along the feed')
      .choices(['head', 'feed'])
      .default('head'),
  )
  .addOption(
    new Option('--tints <how>', 'screened here, or grey for your own screening')
      .choices(['screened', 'grey'])
      .default('screened'),
  )
  .option('--setting <name>', "the printer's setting, as you call it")
  .option('--stock <name>', 'the film stock')
  .option('--mode <name>', 'the print mode')
  .option('--level <level>', 'the ink level, for a ladder')
  .option('--printer <name>', 'the printer')
  .option('-o, --out <file>', 'where to: .png or .tif (1 bit a printer pixel), .pdf or .svg')
  .option('--json', 'what was drawn as one JSON object on standard output, nothing else there')
  .action(options => run(options, async app => (await import('./commands/strip.js')).stripCommand(options, app)))

program
  .command('wear')
  .argument('<scans...>', 'BEFORE AFTER, two scans for each rub test')
  .description('how much ink a rub test took off, by film stock')
  .option('--stock <name>', 'the film stock of all; without it as sidecars or names <stock>__... say')
  .option('-s, --scanner <name>', 'the scanner, as calibrated')
  .option(...workspaceOption)
  .option('-o, --out <folder>', "where the page goes; without it the workspace's reports")
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action((scans: string[], options) =>
    run(options, async app => (await import('./commands/wear.js')).wearCommand(scans, options, app)),
  )

program
  .command('history')
  .argument('<positive>', 'which positive')
  .description('every inspection of one positive')
  .option(...workspaceOption)
  .option('--json', 'one JSON object an inspection on standard output, nothing else there')
  .action((positive: string, options) =>
    run(options, async app => (await import('./commands/history.js')).historyCommand(positive, options, app)),
  )

program
  .command('accept')
  .argument('<id>', 'an inspection, or a positive: its last inspection')
  .description('let a positive through that did not pass: both words stay on record, for ever')
  .option(...workspaceOption)
  .requiredOption('--by <name>', 'who lets it through')
  .requiredOption('--because <reason>', 'why')
  .option('--json', 'the acceptance as one JSON object on standard output')
  .action((id: string, options) =>
    run(options, async app => (await import('./commands/accept.js')).acceptCommand(id, options, app)),
  )

program
  .command('retire')
  .argument('<id>', 'a positive, or one of its inspections')
  .description('a stored film was taken out of its drawer: nobody is asked to scan it any more')
  .option(...workspaceOption)
  .requiredOption('--because <reason>', 'why')
  .option('--by <name>', 'who took it out')
  .option('--all', 'the newest print too, where only older prints of it are overtaken')
  .option('--json', 'one JSON object on standard output')
  .action((id: string, options) =>
    run(options, async app => (await import('./commands/retire.js')).retireCommand(id, options, app)),
  )

program
  .command('used')
  .argument('<id>', 'a positive, or one of its inspections')
  .description('count that a stored film burned a screen: wear and growth are set against use')
  .option(...workspaceOption)
  .option('--times <n>', 'how many burns, 1 to 1000; without it one')
  .option('--on <date>', 'when, as 2026-03-31; without it now')
  .option('--by <name>', 'who used it')
  .option('--json', 'one JSON object on standard output')
  .action((id: string, options) =>
    run(options, async app => (await import('./commands/used.js')).usedCommand(id, options, app)),
  )

program
  .command('board')
  .description('rewrite reports/index.html, the burn-room board')
  .option(...workspaceOption)
  .option(...beforeOption)
  .action(options => run(options, async app => (await import('./commands/board.js')).boardCommand(options, app)))

program
  .command('set')
  .argument('<job...>', 'what the names of its films begin with; or the films themselves')
  .description('the films of one job against each other: register and size')
  .option(...workspaceOption)
  .option('--json', 'one JSON object on standard output')
  .action((job: string[], options) =>
    run(options, async app => (await import('./commands/set.js')).setCommand(job, options, app)),
  )

program
  .command('serve')
  .description('the board, live, in a browser: http://127.0.0.1:8417/')
  .option(...workspaceOption)
  .option('--port <number>', 'the port to listen at; 0 takes any free one', '8417')
  .option('--host <address>', 'the address to listen at; the loopback is read on this machine only', '127.0.0.1')
  .option('--refresh <seconds>', 'how often the board is loaded again', '15')
  .action(options => run(options, async app => (await import('./commands/serve.js')).serveCommand(options, app)))

program
  .command('process')
  .description('how the printers print over time, and how fast stocks grow: reports/process.html, and its signals')
  .option(...workspaceOption)
  .option('--json', 'one JSON object on standard output, nothing else there')
  .action(options => run(options, async app => (await import('./commands/process.js')).processCommand(options, app)))

program
  .command('event')
  .argument('<what>', '"new head", "new ink", "new box of film", or in your own words')
  .description('write down what was changed: limits on the charts begin anew with it')
  .option(...workspaceOption)
  .option('-p, --printer <name>', 'the printer it happened to; without it every printer')
  .option('-s, --stock <name>', 'the film stock it concerns; without it every stock')
  .option('--on <date>', 'when, as 2026-03-31; without it now')
  .option('--json', 'the event as one JSON object on standard output')
  .action((what: string, options) =>
    run(options, async app => (await import('./commands/event.js')).eventCommand(what, options, app)),
  )

program
  .command('export')
  .description('write the whole history to a file')
  .option(...workspaceOption)
  .option('--csv <file>', 'a line an inspection, for spreadsheets')
  .option('--json <file>', 'a JSON array of the records')
  .option(...beforeOption)
  .action(options => run({}, async app => (await import('./commands/export.js')).exportCommand(options, app)))

program
  .command('check')
  .description('is this workspace healthy: settings, calibrations, database, stuck files, disk; how the scanners age')
  .option(...workspaceOption)
  .option('--json', 'one JSON object a finding on standard output, nothing else there')
  .action(options => run(options, async app => (await import('./commands/check.js')).checkCommand(options, app)))

// A reader that has seen enough (`| head`) is no fault.
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error
  })

process.on('uncaughtException', error => {
  sayFault(error)
  process.exit(FAULT)
})

try {
  await program.parseAsync()
} catch (error) {
  if (error instanceof CommanderError) code = error.exitCode === 0 ? 0 : USAGE
  else {
    code = FAULT
    sayFault(error)
  }
}
process.exitCode = code

/** One line and a hint; the stack only for those who ask for it. */
function sayFault(error: unknown): void {
  const said = error instanceof Error ? error.message : String(error)
  process.stderr.write(`burngate itself failed: ${said.split('\n', 1)[0]}\n`)
  if (process.env.BURNGATE_DEBUG === '1') process.stderr.write(`${error instanceof Error ? error.stack : ''}\n`)
  else process.stderr.write('  To do: run it again with BURNGATE_DEBUG=1 and send what it says to the makers\n')
}
