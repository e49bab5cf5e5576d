import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openSqliteStore } from '../../src/history/sqlite-store.js'
import { storeContract } from './store-contract.js'

storeContract('SQLite', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'burngate-store-'))
  return {
    open: () => openSqliteStore(join(folder, 'burngate.db')),
    remove: () => rm(folder, { recursive: true, force: true }),
  }
})
