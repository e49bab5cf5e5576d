/**
 * `npm run bench [-- WHAT...] [--quick] [--rounds N]`: how fast, and in how much memory, as ratios of processes run in turns.
 * Needs `npm run build`. Scans are made once and kept in the temporary folder (4 GB; --quick: a quarter of an A4's side).
 * WHAT: grey deflate lzw rgb 2400 strip workers artwork start history. All when none is named.
 */
import {
  appendFileSync,
  cpSync,
  existsSync,
  linkSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { cpus, loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { type BenchPage, type BenchScan, benchArtwork, benchScan, benchTablet } from './bench-scans.js'
import { LOOKED_AT, longHistory } from './long-history.js'
import { type Pair, pairedRuns, type Spread } from './paired-runs.js'
import { servedPages } from './served-page.js'
import { type Taken, timedProcess } from './timed-process.js'

const CLI = fileURLToPath(new URL('../../dist/cli.js', import.meta.url))
const DECODE = fileURLToPath(new URL('./decode-only.mjs', import.meta.url))
/** An inspection that passes, fails or needs a recheck has inspected. */
const INSPECTED = [0, 1, 2]

const { values: options, positionals } = parseArgs({
  allowPositionals: true,
  options: { quick: { type: 'boolean', default: false }, rounds: { type: 'string', default: '5' } },
})
const page: BenchPage = options.quick ? 'quick' : 'a4'
const rounds = Number(options.rounds)
const wanted = (what: string) => positionals.length === 0 || positionals.includes(what)
const folder = join(tmpdir(), 'burngate-bench')

interface Line {
  readonly what: string
  readonly against: string
  readonly pair: Pair
}
const lines: Line[] = []

function told(what: string, against: string, pair: Pair): void {
  lines.push({ what, against, pair })
  const { ours, theirs, ratio, cpuRatio } = pair
  const of = (taken: readonly Taken[], key: keyof Taken) => Math.min(...taken.map(one => one[key]))
  const spread = ({ median, least, most }: Spread) => `${median.toFixed(2)} (${least.toFixed(2)} to ${most.toFixed(2)})`
  console.log(
    `${what} / ${against}: wall ${spread(ratio)}, processor ${spread(cpuRatio)}; ` +
      `best ${of(ours, 'seconds').toFixed(2)} and ${of(theirs, 'seconds').toFixed(2)} s, ` +
      `peak ${Math.max(...ours.map(one => one.peakMiB)).toFixed(0)} and ${Math.max(...theirs.map(one => one.peakMiB)).toFixed(0)} MiB`,
  )
}

/** A workspace with the scanner calibrated, made once; every inspection gets a copy, so that it archives as a first one does. */
async function workspace(workers: number | null = null): Promise<string> {
  const kept = join(folder, 'workspace')
  if (!existsSync(join(kept, 'made'))) {
    rmSync(kept, { recursive: true, force: true })
    const { tablet, certificate, edge } = await benchTablet(folder)
    await timedProcess([CLI, 'init', kept])
    const how = ['--scanner', 'flatbed-a', '--tablet', certificate, '--edge', edge]
    await timedProcess([CLI, 'calibrate', tablet, ...how, '--workspace', kept])
    writeFileSync(join(kept, 'made'), '')
  }
  const made = mkdtempSync(join(folder, 'run-'))
  cpSync(kept, made, { recursive: true })
  if (workers !== null) {
    const settings = join(made, 'burngate.yaml')
    const text = readFileSync(settings, 'utf8').replace(/^(workers|settleSeconds):.*$/gm, '')
    // How long a file must rest is no work of either.
    writeFileSync(settings, `${text}\nworkers: ${workers}\nsettleSeconds: 0.1\n`)
  }
  return made
}

async function inspection(file: string, ...further: string[]): Promise<Taken> {
  const made = await workspace()
  try {
    const told = ['--workspace', made, '--scanner', 'flatbed-a', '--positive', 'bench']
    return await timedProcess([CLI, 'inspect', file, ...told, ...further], INSPECTED)
  } finally {
    rmSync(made, { recursive: true, force: true })
  }
}

const decoding = (file: string, channels: 1 | 3, depth: '16bit' | '8bit') =>
  timedProcess([DECODE, file, String(channels), depth])

/** The inbox worked off: as many scans as there are, by so many threads. */
async function watching(files: readonly string[], workers: number): Promise<Taken> {
  const made = await workspace(workers)
  try {
    const inbox = join(made, 'inbox')
    mkdirSync(inbox, { recursive: true })
    files.forEach((file, i) => {
      linkSync(file, join(inbox, `bench-${i + 1}.tif`))
      writeFileSync(join(inbox, `bench-${i + 1}.tif.yaml`), 'scanner: flatbed-a\n')
    })
    return await timedProcess([CLI, 'watch', '--once', '--workspace', made], INSPECTED)
  } finally {
    rmSync(made, { recursive: true, force: true })
  }
}

/** The same page eight times, each file with another last byte behind its strips: files of one content are inspected one after the other. */
function eightScans(file: string): readonly string[] {
  const files = [1, 2, 3, 4, 5, 6, 7, 8].map(k => file.replace(/\.tif$/, `-${k}.tif`))
  for (const [k, copy] of files.entries()) {
    if (existsSync(copy)) continue
    cpSync(file, `${copy}.part`)
    appendFileSync(`${copy}.part`, Buffer.from([k + 1]))
    renameSync(`${copy}.part`, copy)
  }
  return files
}

const scan = (name: BenchScan) => benchScan(folder, page, name)

mkdirSync(folder, { recursive: true })
console.log(
  `${cpus().length} processors, load ${loadavg()[0]!.toFixed(1)}, Node ${process.version}, page ${page}, ${rounds} rounds`,
)

if (wanted('start')) {
  told(
    'burngate --version',
    'node -e 0',
    await pairedRuns(
      () => timedProcess([CLI, '--version']),
      () => timedProcess(['-e', '0']),
      rounds * 3,
    ),
  )
}
if (wanted('grey')) {
  const file = await scan('grey1200')
  told(
    'inspect 1200 dpi grey',
    'sharp to 16-bit',
    await pairedRuns(
      () => inspection(file),
      () => decoding(file, 1, '16bit'),
      rounds,
    ),
  )
  told(
    'inspect 1200 dpi grey',
    'sharp unasked (8-bit RGB)',
    await pairedRuns(
      () => inspection(file),
      () => decoding(file, 1, '8bit'),
      rounds,
    ),
  )
}
for (const name of ['deflate', 'lzw'] as const)
  if (wanted(name)) {
    const file = await scan(`${name}1200`)
    told(
      `inspect ${name}`,
      'sharp to 16-bit',
      await pairedRuns(
        () => inspection(file),
        () => decoding(file, 1, '16bit'),
        rounds,
      ),
    )
  }
if (wanted('rgb')) {
  const [colour, grey] = [await scan('rgb1200'), await scan('grey1200')]
  told(
    'inspect 48-bit RGB',
    'inspect grey',
    await pairedRuns(
      () => inspection(colour),
      () => inspection(grey),
      rounds,
    ),
  )
}
if (wanted('2400')) {
  const [fine, coarse] = [await scan('grey2400'), await scan('grey1200')]
  told(
    'inspect 2400 dpi',
    'inspect 1200 dpi',
    await pairedRuns(
      () => inspection(fine),
      () => inspection(coarse),
      rounds,
    ),
  )
}
if (wanted('strip')) {
  const [withStrip, without] = [await scan('strip1200'), await scan('grey1200')]
  told(
    'inspect with a control strip',
    'without',
    await pairedRuns(
      () => inspection(withStrip),
      () => inspection(without),
      rounds,
    ),
  )
}
if (wanted('artwork')) {
  const [file, artwork] = [await scan('grey1200'), await benchArtwork(folder, page)]
  told(
    'inspect with artwork',
    'without',
    await pairedRuns(
      () => inspection(file, '--artwork', artwork),
      () => inspection(file),
      rounds,
    ),
  )
}
if (wanted('workers')) {
  const files = eightScans(await scan('rgb-lzw1200'))
  told(
    'eight 48-bit LZW scans by one thread',
    'by two',
    await pairedRuns(
      () => watching(files, 1),
      () => watching(files, 2),
      rounds,
    ),
  )
}
if (wanted('history')) {
  const made = await workspace()
  try {
    await longHistory(join(made, 'burngate.db'))
    const bare = () => timedProcess(['-e', '0'])
    told(
      'history page, 5000 x 12',
      'node -e 0',
      await pairedRuns(() => timedProcess([CLI, 'history', LOOKED_AT, '--workspace', made]), bare, rounds),
    )
    told(
      'board, 5000 x 12',
      'node -e 0',
      await pairedRuns(() => timedProcess([CLI, 'board', '--workspace', made]), bare, rounds),
    )
    const served = await servedPages(CLI, made)
    try {
      let looked = 0
      told(
        'history page, served',
        'node -e 0',
        // Each time another positive: nothing of its page was made before.
        await pairedRuns(() => served.fetched(`history/JOB-${4900 + looked++}__`), bare, rounds),
      )
      told('board, served', 'node -e 0', await pairedRuns(() => served.fetched(''), bare, rounds))
    } finally {
      await served.close()
    }
  } finally {
    rmSync(made, { recursive: true, force: true })
  }
}
console.log(`load ${loadavg()[0]!.toFixed(1)} at the end`)
console.table(
  lines.map(({ what, against, pair }) => ({
    what,
    against,
    ratio: Number(pair.ratio.median.toFixed(2)),
    processor: Number(pair.cpuRatio.median.toFixed(2)),
    'peak MiB': Math.round(Math.max(...pair.ours.map(one => one.peakMiB))),
  })),
)
