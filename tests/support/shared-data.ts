import { existsSync } from 'node:fs'
import { fileURLToPath } from 'node:url'

/** Folder of the real scans, beside the project; not part of a user's clone. */
export const SHARED_DATA = fileURLToPath(new URL('../../../shared/data/', import.meta.url))

/**
 * Whether the shared data is here. Use with `describe.skipIf(!haveSharedData)`, and say so in the suite's title.
 * In CI its absence is an error, never a skip.
 */
export const haveSharedData = existsSync(SHARED_DATA)
if (!haveSharedData && process.env.CI === 'true')
  throw new Error('CI must have the shared data beside the project; these tests may not be skipped there')
