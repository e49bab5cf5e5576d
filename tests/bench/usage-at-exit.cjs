// Loaded before a program under test: writes what the whole process used, threads included, when it ends.
const { writeFileSync } = require('node:fs')

process.on('exit', () => {
  const { maxRSS, userCPUTime, systemCPUTime } = process.resourceUsage()
  writeFileSync(
    process.env.BENCH_USAGE,
    JSON.stringify({ peakMiB: maxRSS / 1024, cpuSeconds: (userCPUTime + systemCPUTime) / 1e6 }),
  )
})
