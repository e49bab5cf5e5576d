import { readFile } from 'node:fs/promises'
import { parse, stringify } from 'yaml'
import type { LadderStep } from '../model/ladder.js'
import { writeWhole } from './write-whole.js'

/**
 * Marks a named setting that was proved earlier and fails in a newer reading of its own strips (film that bled, most often): the file
 * stays, with the reason in it, and reports of films printed so say it. A setting whose strips were not read this time stays as it is.
 * @param file `settings/<name>.yaml`, there or not
 * @param read when, and what record says so
 * @returns one sentence for who reads the ladder; null where nothing was to withdraw
 */
export async function withdrawSetting(
  file: string,
  name: string,
  steps: readonly LadderStep[],
  read: { readonly scannedAt: string; readonly record: string },
): Promise<string | null> {
  const content = await contentOf(file)
  if (content === null) return null
  const { stock, mode, level } = content
  const step = steps.find(
    one => one.stock === stock && one.mode === mode?.name && String(one.level) === String(level).replace(/ %$/, ''),
  )
  // What a poor scan cannot tell is no reason.
  const finding = step?.findings.find(({ verdict }) => verdict === 'fail')
  if (finding === undefined) return null
  const withdrawn = { on: read.scannedAt.slice(0, 10), why: finding.why, record: `reports/${read.record}` }
  const head = `# Withdrawn by \`burngate ladder read\` on ${withdrawn.on}: do not print so any more.\n`
  await writeWhole(file, head + stringify({ ...content, withdrawn }))
  return `The setting ${name} was proved before and does not pass any more; it is marked as withdrawn in settings/: do not print so. ${finding.why}`
}

/** Whether a setting's file holds the word of a later reading than that: then it stays, whatever the older one says. */
export async function saidLater(file: string, scannedAt: string): Promise<boolean> {
  const content = await contentOf(file)
  const later = content?.withdrawn?.on ?? content?.evidence?.scannedAt
  return typeof later === 'string' && later.slice(0, 10) > scannedAt.slice(0, 10)
}

interface SettingContent {
  readonly stock?: unknown
  readonly mode?: { readonly name?: unknown }
  readonly level?: unknown
  readonly withdrawn?: { readonly on?: unknown }
  readonly evidence?: { readonly scannedAt?: unknown }
}

async function contentOf(file: string): Promise<SettingContent | null> {
  try {
    const content = parse(await readFile(file, 'utf8'))
    return content !== null && typeof content === 'object' ? (content as SettingContent) : null
  } catch {
    return null
  }
}
