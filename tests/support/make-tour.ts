import { readdir } from 'node:fs/promises'
import { join, resolve } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import { chromium } from 'playwright-core'

/**
 * Makes README's pictures from the demo shop: `npm run demo`, then `npx tsx tests/support/make-tour.ts demo-shop`.
 * Needs Chromium where Debian puts it.
 */
const folder = resolve(process.argv[2] ?? 'demo-shop')
const tour = fileURLToPath(new URL('../../fixtures/tour/', import.meta.url))
const reports = join(folder, 'reports')
const pages = await readdir(reports)
const named = (start: string) => {
  const found = pages.filter(name => name.startsWith(start) && name.endsWith('.html')).sort()
  if (found.length === 0) throw new Error(`no report of ${start} in ${reports}: run the demo first`)
  return join(reports, found.at(-1)!)
}

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] })
try {
  const page = await browser.newPage({ viewport: { width: 1100, height: 900 }, deviceScaleFactor: 0.8 })
  const shoot = async (file: string, name: string, clip?: { from: string; height: number }) => {
    await page.goto(pathToFileURL(file).href)
    // Long lists are drawn as far as they are in view; a picture of the whole page wants all.
    await page.addStyleTag({ content: '* { content-visibility: visible !important }' })
    const top = clip === undefined ? 0 : ((await page.locator(clip.from).first().boundingBox())?.y ?? 0)
    await page.screenshot({
      path: join(tour, name),
      fullPage: true,
      clip: { x: 0, y: Math.max(0, top - 10), width: 1100, height: clip?.height ?? 900 },
    })
  }
  await shoot(join(reports, 'index.html'), 'board.png')
  await shoot(named('herons-12__'), 'fail.png', { from: 'body', height: 1100 })
  await shoot(named('regatta-front__'), 'measured.png', { from: 'text=Where it was measured', height: 1150 })
} finally {
  await browser.close()
}
