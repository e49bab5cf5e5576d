import { describe, expect, it } from 'vitest'
import { openedWhenAsked } from '../../../src/history/opened-when-asked.js'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import { ProblemError } from '../../../src/model/problem.js'

describe('openedWhenAsked', () => {
  it('opens once, when it is first asked or told to begin, and answers as the store does', async () => {
    let opened = 0
    const { store, begin } = openedWhenAsked(() => {
      opened++
      return openSqliteStore(':memory:')
    })
    expect(opened).toBe(0)
    begin()
    expect(await store.byPositive('reef-label')).toEqual([])
    expect(await store.lastJobType('reef-label')).toBeNull()
    const all = []
    for await (const inspection of store.all()) all.push(inspection)
    expect([all.length, opened]).toEqual([0, 1])
    await store.close()
    await expect(store.board()).rejects.toThrow()
  })

  it('gives what kept it from being opened as the answer to every question, and can still be closed', async () => {
    const { store, begin } = openedWhenAsked(() => Promise.reject(new ProblemError('DATABASE_UNUSABLE', 'no database')))
    begin()
    await expect(store.board()).rejects.toMatchObject({ problem: { code: 'DATABASE_UNUSABLE' } })
    await expect(store.byId('x')).rejects.toMatchObject({ problem: { code: 'DATABASE_UNUSABLE' } })
    await store.close()
  })

  it('opens nothing to be closed', async () => {
    const { store } = openedWhenAsked(() => expect.fail('it was opened'))
    await store.close()
  })
})
