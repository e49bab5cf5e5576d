import { mkdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Reading } from '../../../src/model/reading.js'
import { actinicTableOf, estimateActinic } from '../../../src/pipeline/estimate-actinic.js'
import { intoWorkspace } from '../../../src/pipeline/inspect-into-workspace.js'
import { loadActinicTables } from '../../../src/pipeline/load-actinic-tables.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInScan } from '../../support/stand-in-measure.js'
import { arrivalOf, workspaceContext } from '../../support/workspace-context.js'

const PAIRS = 'scanner,actinic\n0.5,0.7\n1.5,1.7\n2.5,2.8\n3.0,3.3\n3.5,3.8\n'
let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
  mkdirSync(join(folder.path, 'actinic'))
  folder.put('actinic/stock-a.csv', PAIRS)
  folder.put('actinic/broken.csv', 'no,table\n')
  folder.put('actinic/notes.txt', 'not a table')
})
afterEach(() => folder.remove())
const shelf = () => loadActinicTables(join(folder.path, 'actinic'))

const solid = (change: Partial<Reading> = {}) => ({
  response: 'calibrated' as const,
  readings: {
    solidDensity: {
      value: 3.2,
      unit: 'D' as const,
      expanded: 0.04,
      bound: null,
      n: 3,
      parts: [],
      budget: [],
      method: 'solid-density@1',
      ...change,
    },
  },
})

describe('loadActinicTables', () => {
  it('keeps good tables and what is wrong with bad ones; no folder is no table', async () => {
    const tables = await shelf()
    expect([...tables.keys()]).toEqual(['broken', 'stock-a'])
    expect(tables.get('broken')).toBeInstanceOf(Error)
    expect(await loadActinicTables(join(folder.path, 'none'))).toEqual(new Map())
  })
})

describe('actinicTableOf', () => {
  it('is the one of the stock, else the default, else none', async () => {
    expect(actinicTableOf(await shelf(), 'stock-a')).toMatchObject({ name: 'stock-a' })
    expect(actinicTableOf(await shelf(), 'stock-b')).toBeNull()
    expect(actinicTableOf(await shelf(), undefined)).toBeNull()
    expect(actinicTableOf(undefined, 'stock-a')).toBeNull()
    folder.put('actinic/default.csv', PAIRS)
    expect(actinicTableOf(await shelf(), 'stock-b')).toMatchObject({ name: 'default' })
    expect(actinicTableOf(await shelf(), undefined)).toMatchObject({ name: 'default' })
  })
})

describe('estimateActinic', () => {
  it('gives the estimate with its table', async () => {
    const { actinic, notes } = estimateActinic(actinicTableOf(await shelf(), 'stock-a'), solid())
    expect(notes).toEqual([])
    expect(actinic).toMatchObject({ table: 'stock-a', pairs: 5 })
    expect(actinic!.solidDensity.value).toBeCloseTo(3.5, 1)
    expect(actinic!.solidDensity.expanded).toBeGreaterThan(0.04)
  })

  it('says why there is none, never silently; without a table there is nothing to say', async () => {
    const table = actinicTableOf(await shelf(), 'stock-a')
    const why = (estimate: ReturnType<typeof estimateActinic>) => {
      expect(estimate.actinic).toBeNull()
      return estimate.notes.join()
    }
    expect(why(estimateActinic(table, solid({ value: 3.9 })))).toMatch(/3\.90 lies outside the pairs/)
    expect(why(estimateActinic(table, solid({ bound: 'atLeast' })))).toMatch(/is a bound/)
    expect(why(estimateActinic(table, { response: 'calibrated', readings: {} }))).toMatch(/no solid was measured/)
    expect(why(estimateActinic(table, { ...solid(), response: 'unknown' }))).toMatch(/no calibration/)
    expect(why(estimateActinic(actinicTableOf(await shelf(), 'broken'), solid()))).toMatch(/broken\.csv: line 1/)
    expect(estimateActinic(null, solid())).toEqual({ actinic: null, notes: [] })
  })
})

describe('an inspection with a table', () => {
  it('carries the estimate in its record and on its page, judges the same, and is another record than without', async () => {
    folder.put('actinic/default.csv', PAIRS)
    const context = await workspaceContext(folder.path)
    try {
      const file = folder.put('inbox/HARBOR-17__1.tif', standInScan(3.2, 1))
      const how = { skipKnown: true, mayLink: false }
      const without = await intoWorkspace(context)(arrivalOf(file), how)
      const load = async () => ({ ...(await context.load()), actinicTables: await shelf() })
      const outcome = await intoWorkspace({ ...context, load })(arrivalOf(file), how)
      expect(without.inspection).not.toHaveProperty('actinic')
      expect(outcome.inspection.actinic).toMatchObject({ table: 'default', pairs: 5 })
      expect(outcome.inspection.id).not.toBe(without.inspection.id)
      expect(outcome.inspection.findings).toEqual(without.inspection.findings)
      const page = readFileSync(outcome.report!, 'utf8')
      expect(page).toMatch(
        /Estimated actinic density<\/b> of the middle solid, from table <bdi>default<\/bdi>, 5 pairs: <b>3\.\d\d/,
      )
      expect(readFileSync(without.report!, 'utf8')).not.toContain('actinic')
    } finally {
      await context.store.close()
    }
  })
})
