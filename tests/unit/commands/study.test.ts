import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { basename, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { studyCommand } from '../../../src/commands/study.js'
import { seededRandom } from '../../../src/demo/random.js'
import type { MeasuredScan, MeasureRequest } from '../../../src/model/measured.js'
import { expectWithin } from '../../support/expect-within.js'
import { program } from '../../support/program.js'
import { sampleCalibration } from '../../support/sample-inspection.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInMeasure, standInScan } from '../../support/stand-in-measure.js'

/** Letter: appraiser; digit: trial; columns: parts 1 to 10. AIAG Measurement Systems Analysis, 4th edition, figure III-B 6. */
const HANDBOOK: Readonly<Record<string, readonly number[]>> = {
  A1: [0.29, -0.56, 1.34, 0.47, -0.8, 0.02, 0.59, -0.31, 2.26, -1.36],
  A2: [0.41, -0.68, 1.17, 0.5, -0.92, -0.11, 0.75, -0.2, 1.99, -1.25],
  A3: [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
  B1: [0.08, -0.47, 1.19, 0.01, -0.56, -0.2, 0.47, -0.63, 1.8, -1.68],
  B2: [0.25, -1.22, 0.94, 1.03, -1.2, 0.22, 0.55, 0.08, 2.12, -1.62],
  B3: [0.07, -0.68, 1.34, 0.2, -1.28, 0.06, 0.83, -0.34, 2.19, -1.5],
  C1: [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
  C2: [-0.11, -1.13, 1.09, 0.2, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
  C3: [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
}
const HANDBOOK_CSV = [
  'part,operator,repeat,value',
  ...Object.entries(HANDBOOK).flatMap(([name, values]) =>
    values.map((value, i) => `${i + 1},${name[0]},${name[1]},${value}`),
  ),
].join('\n')

const PARTS = ['HARBOR', 'KITE', 'PIER'] as const
const DENSITY = { HARBOR: 3.2, KITE: 3.4, PIER: 3.6 } as const

let folder: ScanFolder
let it_: ReturnType<typeof program>
beforeEach(() => {
  folder = scanFolder()
  it_ = program(folder.path)
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})

async function workspace(): Promise<string> {
  await initCommand('shop', it_.app)
  folder.put('shop/job-types/solid.yaml', 'name: solid\nlimits: { solidDensity: { min: 3.0, max: 4.0 } }\n')
  folder.put('shop/job-types/same.yaml', 'name: same\nlimits: { solidDensity: { min: 3.0, max: 3.0 } }\n')
  const sample = sampleCalibration()
  const scan = { ...sample.scan, dpi: { across: 1200, along: 1200 } }
  await writeCalibration(join(folder.path, 'shop', 'scanners'), { ...sample, scan })
  it_.said()
  return join(folder.path, 'shop')
}

/** 3 films x 3 placements x 2 repeats, each scan with `scatter` D of noise. */
function films(scatter: number, where = ''): string[] {
  const random = seededRandom(7)
  let seed = 0
  return PARTS.flatMap(part =>
    ['left', 'middle', 'right'].flatMap(place =>
      [1, 2].map(repeat => {
        const name = `${where}${part}__${place}__${repeat}.tif`
        folder.put(name, standInScan(DENSITY[part] + scatter * random.normal(), ++seed))
        return name
      }),
    ),
  )
}

const json = { json: true } as const
const refusal = (files: readonly string[], options: Parameters<typeof studyCommand>[1]) =>
  studyCommand(files, { ...json, ...options }, it_.app).then(
    code => ({ exit: code, ...it_.json()[0] }),
    error => ({ exit: null, ...error.problem }),
  )

describe('study of values', () => {
  it('works the handbook example out as published, and writes its page', async () => {
    const shop = await workspace()
    folder.put('handbook.csv', HANDBOOK_CSV)
    expect(await studyCommand(['handbook.csv'], { workspace: 'shop', ...json }, it_.app)).toBe(2)
    const [study, ...more] = it_.json()
    expect([more, it_.said()]).toEqual([[], ''])
    expect(study).toMatchObject({
      schema: 'burngate/study@1',
      reading: 'value',
      gauge: null,
      source: 'handbook.csv',
      scans: null,
      across: 'operator',
      repeats: 3,
      verdict: { word: 'marginal' },
      averageAndRange: { distinctCategories: 5 },
    })
    const because = 'published to two decimals, rounded on the way'
    expectWithin(study.averageAndRange.percent.gauge, 26.68, { abs: 0.01, unit: '%', because })
    expectWithin(study.averageAndRange.percent.part, 96.38, { abs: 0.01, unit: '%', because })
    expect(study.page).toBe(join(shop, 'reports', 'study__value__20250304T120000Z.html'))
    expect(readFileSync(study.page, 'utf8')).toContain('Marginal')
  })

  it('says word, reason, what to do, sources, remarks and the page', async () => {
    await workspace()
    folder.put('handbook.csv', HANDBOOK_CSV)
    expect(await studyCommand([], { workspace: 'shop', plan: 'handbook.csv' }, it_.app)).toBe(2)
    expect(it_.out).toEqual([])
    const lines = it_.said().split('\n')
    expect(lines[0]).toBe('MARGINAL  value  (10 parts, 3 operators, 3 repeats)')
    expect(lines[1]).toMatch(/^ {2}The gauge takes up .* of the spread of all readings/)
    expect(lines[2]).toMatch(/^ {2}To do: /)
    expect(lines[4]).toMatch(/^ {2}source +standard deviation +% of variance +% of spread$/)
    expect(lines.some(line => line.startsWith('  Note: Part 4 by B: its repeats lie 1.02 apart'))).toBe(true)
    expect(lines.at(-1)).toMatch(/^ {2}Page: .*study__value__20250304T120000Z\.html$/)
  })

  it('takes a named column, or calls the column "value" what it is told, and holds it against a job type', async () => {
    await workspace()
    const table = PARTS.flatMap((part, i) =>
      ['a', 'b'].flatMap((place, j) =>
        [1, 2].map(k => `${part},${place},${k},${3.2 + 0.2 * i + 0.001 * ((3 * j + k) % 4)},${40 + i + k / 10}`),
      ),
    )
    folder.put('two.csv', ['part,placement,repeat,solidDensity,riseWidth', ...table].join('\n'))
    const asked = { workspace: 'shop', toleranceFrom: 'solid' }
    expect(await studyCommand(['two.csv'], { ...asked, ...json, reading: 'solidDensity' }, it_.app)).toBe(0)
    expect(it_.json()[0]).toMatchObject({
      reading: 'solidDensity',
      across: 'placement',
      toleranceFrom: 'solid',
      tolerance: { min: 3, max: 4 },
      room: { from: 'limits' },
    })
    const one = table.map(line => line.slice(0, line.lastIndexOf(',')))
    folder.put('one.csv', ['part,placement,repeat,value', ...one].join('\n'))
    expect(await studyCommand(['one.csv'], { ...asked, ...json, reading: 'solidDensity' }, it_.app)).toBe(0)
    expect(it_.json()[0]).toMatchObject({ reading: 'solidDensity', tolerance: { min: 3, max: 4 } })
    // The job type has no limit on it: nothing to hold the gauge against.
    expect(await studyCommand(['two.csv'], { ...asked, ...json, reading: 'riseWidth' }, it_.app)).toBe(2)
    expect(it_.json()[0]).toMatchObject({ tolerance: {}, room: null, verdict: { word: 'undecided' } })
  })

  it('needs no workspace; the page then goes where --out says, or nowhere', async () => {
    folder.put('handbook.csv', HANDBOOK_CSV)
    expect(await studyCommand(['handbook.csv'], {}, it_.app)).toBe(2)
    expect(it_.said()).toContain('No page was written')
    expect(await studyCommand(['handbook.csv'], { out: 'pages' }, it_.app)).toBe(2)
    expect(readdirSync(join(folder.path, 'pages'))).toEqual(['study__value__20250304T120000Z.html'])
  })
})

describe('study of scans', () => {
  it('measures them with the calibration and keeps nothing but the page', async () => {
    const shop = await workspace()
    const scans = films(0.002)
    const options = { workspace: 'shop', reading: 'solidDensity', toleranceFrom: 'solid', ...json }
    expect(await studyCommand(scans, options, it_.app)).toBe(0)
    const [study] = it_.json()
    expect(study).toMatchObject({
      reading: 'solidDensity',
      gauge: 'scanner flatbed-a',
      source: '18 scans',
      parts: [...PARTS],
      operators: ['left', 'middle', 'right'],
      repeats: 2,
      verdict: { word: 'good', basis: 'tolerance' },
      notes: [],
    })
    expect(study.scans).toHaveLength(18)
    expect(study.scans[0]).toEqual({
      part: 'HARBOR',
      operator: 'left',
      repeat: 1,
      value: expect.any(Number),
      file: 'HARBOR__left__1.tif',
      sha256: expect.stringMatching(/^[0-9a-f]{64}$/),
    })
    expectWithin(study.components.gauge.deviation, 0.002, {
      abs: 0.0012,
      unit: 'D',
      because: 'about 15 degrees of freedom: the scatter of a standard deviation is a fifth of it; three of them',
    })
    expect(readdirSync(join(shop, 'reports'))).toEqual([basename(study.page)])
    for (const kept of ['archive', 'inbox']) expect(readdirSync(join(shop, kept))).toEqual([])
    expect(existsSync(join(shop, 'burngate.db'))).toBe(false)
    expect(scans.every(scan => existsSync(join(folder.path, scan)))).toBe(true)
  })

  it('exits 1 for a scanner that scatters too much, 2 for one that will do', async () => {
    await workspace()
    const options = { workspace: 'shop', reading: 'solidDensity', toleranceFrom: 'solid' }
    expect(await studyCommand(films(0.1), options, it_.app)).toBe(1)
    expect(it_.said()).toMatch(
      /^NOT GOOD ENOUGH {2}solidDensity, scanner flatbed-a {2}\(3 parts, 3 placements, 2 repeats/,
    )
    expect(await studyCommand(films(0.03), options, it_.app)).toBe(2)
    expect(it_.said()).toMatch(/^MARGINAL /)
  })

  it('finds the scans of a plan beside the plan, from wherever it is called', async () => {
    await workspace()
    mkdirSync(join(folder.path, 'study'))
    const names = films(0.002, 'study/').map(name => name.slice('study/'.length))
    const lines = names.map(name => `${name.replace('.tif', '').split('__').join(',')},${name}`)
    folder.put('study/plan.csv', ['part,placement,repeat,file', ...lines].join('\n'))
    const options = { workspace: 'shop', reading: 'solidDensity', ...json }
    expect(await studyCommand(['study/plan.csv'], options, it_.app)).not.toBe(3)
    expect(it_.json()[0]).toMatchObject({ source: '18 scans named by plan.csv', repeats: 2, toleranceFrom: null })
  })

  it('says that no calibration was used', async () => {
    await workspace()
    const options = { workspace: 'shop', reading: 'solidDensity', scanner: 'flatbed-z', ...json }
    await studyCommand(films(0.002), options, it_.app)
    expect(it_.json()[0]).toMatchObject({ gauge: 'a scanner without calibration' })
  })

  it('gathers the doubts about its scans', async () => {
    await workspace()
    const scans = films(0.002)
    const late = program(folder.path, new Date('2026-03-04T12:00:00Z'))
    await studyCommand(scans, { workspace: 'shop', reading: 'solidDensity', ...json }, late.app)
    expect(late.json()[0].notes.at(-1)).toMatch(/^Every scan: The calibration of flatbed-a is 373 days old/)
    await late.app.close()
  })
})

describe('study refuses', () => {
  it.each([
    ['nothing at all', [], {}, /no scans and no table/],
    ['a plan and scans', ['a.tif'], { plan: 'b.csv' }, /both --plan and other files/],
    ['a table among scans', ['a.tif', 'b.csv'], {}, /b\.csv is a table: name it alone/],
  ] as const)('%s, as a wrong command line', async (_name, files, options, said) => {
    const found = await refusal(files, options)
    expect(found).toMatchObject({ exit: 64, schema: 'burngate/problem@1', code: 'STUDY_PLAN_INVALID' })
    expect(found.what).toMatch(said)
  })

  it('scans without a reading, or with one there is not', async () => {
    const scans = films(0.002)
    expect(await refusal(scans, {})).toMatchObject({
      exit: 64,
      code: 'STUDY_READING_UNKNOWN',
      what: expect.stringContaining('solidDensity'),
    })
    expect(await refusal(scans, { reading: 'solidDensty' })).toMatchObject({
      exit: 64,
      what: 'the gauge study has no reading "solidDensty"; did you mean solidDensity?',
    })
    folder.put('handbook.csv', HANDBOOK_CSV)
    expect(await refusal(['handbook.csv'], { reading: 'odd' })).toMatchObject({
      exit: 64,
      what: 'the gauge study has no reading "odd"; it has "value"',
    })
  })

  it('a job type there is not, one whose limits leave no room, a plan there is not', async () => {
    await workspace()
    const asked = { workspace: 'shop', reading: 'solidDensity' }
    const scans = films(0.002)
    expect(await refusal(scans, { ...asked, toleranceFrom: 'solit' })).toMatchObject({
      exit: 64,
      code: 'JOB_TYPE_UNKNOWN',
      what: 'there is no job type "solit" (did you mean solid?)',
    })
    expect(await refusal(scans, { ...asked, toleranceFrom: 'same' })).toMatchObject({
      exit: null,
      code: 'SETTINGS_INVALID',
      what: expect.stringContaining('min and max are both 3'),
    })
    expect(await refusal([], { plan: 'none.csv' })).toMatchObject({ exit: null, code: 'FILE_MISSING' })
    expect(await refusal(['x.tif'], { workspace: 'none' })).toMatchObject({ exit: null, code: 'WORKSPACE_MISSING' })
  })

  it('a crooked layout before any scan is opened', async () => {
    let measured = 0
    const counting = program(folder.path, undefined, request => {
      measured++
      return standInMeasure(request, folder.path)
    })
    const ask = (files: readonly string[]) => studyCommand(files, { reading: 'solidDensity' }, counting.app)
    const code = (code: string) => ({ problem: { code } })
    const scans = films(0.002)
    await expect(ask(scans.slice(1))).rejects.toMatchObject(code('STUDY_UNBALANCED'))
    await expect(ask(scans.slice(2))).rejects.toMatchObject(code('STUDY_VALUE_MISSING'))
    await expect(ask(scans.slice(0, 6))).rejects.toMatchObject(code('STUDY_TOO_FEW'))
    await expect(ask([...scans, scans[0]!])).rejects.toMatchObject(code('STUDY_VALUE_TWICE'))
    await expect(ask([...scans.slice(1), 'film.tif'])).rejects.toMatchObject(code('STUDY_PLAN_INVALID'))
    await expect(ask([...scans.slice(0, -1), 'PIER__right__3.tif'])).rejects.toMatchObject(code('FILE_MISSING'))
    expect(measured).toBe(0)
    await counting.app.close()
  })

  it('a copy of another scan, whatever it is called', async () => {
    const scans = films(0.002)
    folder.put(scans[17]!, readFileSync(join(folder.path, scans[16]!)))
    expect(await refusal(scans, { reading: 'solidDensity' })).toMatchObject({
      exit: null,
      code: 'STUDY_VALUE_TWICE',
      what: expect.stringContaining('PIER__right__1.tif and PIER__right__2.tif hold the very same scan'),
    })
  })

  it('a reading that one scan does not give, naming the scan', async () => {
    expect(await refusal(films(0.002), { reading: 'riseWidth' })).toMatchObject({
      exit: null,
      code: 'STUDY_VALUE_INVALID',
      what: expect.stringMatching(/HARBOR__left__\d\.tif: Edge rise width was not measured/),
    })
  })

  it('a bound, naming the scan', async () => {
    const scans = films(0.002)
    const bounded = program(folder.path, undefined, async (request: MeasureRequest): Promise<MeasuredScan> => {
      const measured = await standInMeasure(request, folder.path)
      const reading = { ...measured.readings.solidDensity!, bound: 'atLeast' as const }
      return request.file.endsWith(scans[9]!) ? { ...measured, readings: { solidDensity: reading } } : measured
    })
    await expect(studyCommand(scans, { reading: 'solidDensity' }, bounded.app)).rejects.toMatchObject({
      problem: {
        code: 'STUDY_VALUE_INVALID',
        what: expect.stringMatching(/KITE__middle__2\.tif: Solid density is only known to be at least 3\.\d+ D/),
      },
    })
    await bounded.app.close()
  })

  it('a scan that cannot be inspected, naming it', async () => {
    const scans = films(0.002)
    folder.put(scans[4]!, standInScan(3.2, 99).subarray(0, 200))
    expect(await refusal(scans, { reading: 'solidDensity' })).toMatchObject({
      exit: null,
      code: 'SCAN_TRUNCATED',
      what: expect.stringMatching(/^HARBOR__right__1\.tif: /),
    })
  })

  it('every bad scan at once, each with its own reason', async () => {
    const scans = films(0.002)
    const all = [scans[4]!, scans[9]!]
    for (const [i, name] of all.entries()) folder.put(name, standInScan(3.2, 99).subarray(0, 200 + i))
    const broken = await refusal(scans, { reading: 'solidDensity' })
    expect(broken).toMatchObject({ code: 'SCAN_TRUNCATED', what: expect.stringMatching(/^2 scans cannot be used: /) })
    for (const name of all) expect(broken.what).toContain(`${name}: `)

    for (const name of all) rmSync(join(folder.path, name))
    const missing = await refusal(scans, { reading: 'solidDensity' })
    expect(missing.code).toBe('FILE_MISSING')
    for (const name of all) expect(missing.what).toContain(name)
  })

  it('but goes on where the rest is balanced, and says what it left out', async () => {
    const scans = films(0.002)
    for (const name of scans.filter(scan => scan.startsWith('PIER')))
      folder.put(name, standInScan(3.2, 99).subarray(0, 200 + scans.indexOf(name)))
    await studyCommand(scans, { ...json, reading: 'solidDensity' }, it_.app)
    const { parts, notes } = it_.json()[0]
    expect(parts).toHaveLength(PARTS.length - 1)
    expect(notes.filter((note: string) => note.startsWith('Left out'))).toHaveLength(6)
  })

  it('values that are all one', async () => {
    folder.put('flat.csv', ['part,operator,repeat,value', 'a,x,1,3', 'a,x,2,3', 'b,x,1,3', 'b,x,2,3'].join('\n'))
    expect(await refusal(['flat.csv'], {})).toMatchObject({ exit: null, code: 'STUDY_NO_VARIATION' })
  })
})
