import { describe, expect, it } from 'vitest'
import type { ScanArrival } from '../../../src/model/arrival.js'
import type { LadderPart, MeasuredScan } from '../../../src/model/measured.js'
import type { StripIdentity } from '../../../src/model/strip.js'
import { ladderSamples } from '../../../src/pipeline/ladder-samples.js'
import { ladderPlan } from '../../support/ladder-plan.js'

const plan = ladderPlan()
const [first, second] = plan.modes
const identity = (change: Partial<StripIdentity> = {}): StripIdentity => ({
  positive: plan.name,
  jobType: plan.jobType,
  dpi: first!.dpi,
  form: 'ladder',
  laid: 'head',
  tints: 'screened',
  stock: plan.stocks[0]!,
  mode: first!.name,
  level: String(plan.levels[0]),
  ...change,
})
const strip = (index: number, said: StripIdentity | null, of = 3): LadderPart => ({
  index,
  strip: {
    of,
    atMm: { across: 80, down: 30 * (index + 1) },
    identity: said,
    refused: said === null ? 'its modules are gone' : null,
  },
  readings: {},
  notMeasured: [],
  notes: [],
  crop: null,
})
const read = (name: string, ladder: readonly LadderPart[], facts: object | null = null, of = plan) =>
  ladderSamples(
    name,
    {
      measured: { response: 'calibrated', doubts: [], ladder } as unknown as MeasuredScan,
      scannedAt: '2026-03-02T09:00:00',
    },
    { name, sidecar: facts === null ? null : { text: '', facts } } as unknown as ScanArrival,
    of,
  )

describe('the steps on one scan of a ladder', () => {
  it('go by the strips’ own codes, each by itself', () => {
    const { samples, unread, notes } = read('scan-1.tif', [
      strip(0, identity()),
      strip(1, identity({ level: String(plan.levels[1]) })),
      strip(2, identity({ mode: second!.name, dpi: second!.dpi })),
    ])
    expect(samples.map(({ file, mode, level }) => [file, mode, level])).toEqual([
      ['scan-1.tif, strip 1', first!.name, plan.levels[0]],
      ['scan-1.tif, strip 2', first!.name, plan.levels[1]],
      ['scan-1.tif, strip 3', second!.name, plan.levels[0]],
    ])
    expect([...unread, ...notes]).toEqual([])
  })

  it('lists spoilt codes by their place, strips of another plan in one line, and goes on', () => {
    const other = identity({ positive: 'autumn' })
    const { samples, unread } = read('scan-1.tif', [
      strip(0, other),
      strip(1, identity(), 4),
      strip(2, null, 4),
      strip(3, other),
    ])
    expect(samples).toHaveLength(1)
    expect(unread.map(({ problem }) => [problem.code, problem.what])).toEqual([
      ['LADDER_STRIP_NOT_OF_PLAN', expect.stringContaining('strips 1, 4 name "autumn", and the plan is')],
      [
        'LADDER_STRIP_UNREADABLE',
        expect.stringContaining('strip 3 of 4, 80 mm across and 90 mm down; its modules are gone'),
      ],
    ])
  })

  it('says a level that the plan no longer has, and another resolution or job type', () => {
    const { unread, notes } = read('scan-1.tif', [
      strip(0, identity({ level: '77' })),
      strip(1, identity({ jobType: 'bold', dpi: { across: 300, along: 300 } })),
    ])
    expect(unread[0]!.problem.what).toContain('its code is not of the plan as it is now, level "77"')
    expect(notes).toEqual([
      expect.stringContaining('were printed for bold; they are judged by'),
      expect.stringContaining('were drawn at 300 x 300 dpi'),
    ])
  })

  it('takes the code before a sidecar or name that says otherwise, and says so', () => {
    const { samples, notes } = read(
      `${plan.stocks[0]}__${second!.name}__${plan.levels[0]}.tif`,
      [strip(0, identity(), 1)],
      {
        setting: '99',
      },
    )
    expect(samples).toMatchObject([{ mode: first!.name, level: plan.levels[0] }])
    expect(notes).toEqual([
      expect.stringMatching(/its name says mode .*, its strip says .*; the strip counts/),
      expect.stringMatching(/its sidecar says level 99, its strip says/),
    ])
  })

  it('falls back to the name for a lone spoilt strip, and says what is not read then', () => {
    const name = `${plan.stocks[0]}__${first!.name}__${plan.levels[1]}.tif`
    const { samples, notes } = read(name, [strip(0, null, 1)])
    expect(samples).toMatchObject([{ level: plan.levels[1], file: name }])
    expect(notes[0]).toContain('what only a strip tells (lines, tints) was not read')
    expect(read('scan-1.tif', [strip(0, null, 1)]).unread[0]!.problem).toMatchObject({
      code: 'LADDER_STRIP_UNREADABLE',
    })
  })

  it('does not let one name speak for spoilt strips that may be of several levels', () => {
    const name = `${plan.stocks[0]}__${first!.name}__${plan.levels[1]}.tif`
    expect(read(name, [strip(0, null, 2)]).samples).toHaveLength(1)
    const { samples, unread } = read(name, [strip(0, null, 2)], null, { ...plan, ramp: true })
    expect(samples).toEqual([])
    expect(unread[0]!.problem.what).toContain('they may be of several levels')
  })
})
