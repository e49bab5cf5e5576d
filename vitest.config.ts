import { defineConfig } from 'vitest/config'

/** In CI the counts are also written as JSON, for the script's closing line. */
const counts =
  process.env.CI === 'true' && process.env.BURNGATE_CI_COUNTS !== 'off'
    ? (['json', { outputFile: 'coverage/ci.json' }] as const)
    : undefined

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 180_000,
    hookTimeout: 180_000,
    maxWorkers: 2,
    // Files share the modules of their worker: loading and warming them anew for each of some 360 files took two thirds of the time.
    isolate: false,
    reporters: counts === undefined ? ['default'] : ['default', [...counts]],
  },
})
