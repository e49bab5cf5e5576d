import { link, mkdir, rename, rm, stat } from 'node:fs/promises'
import { basename, extname, join } from 'node:path'
import writeFileAtomic from 'write-file-atomic'
import type { Problem } from '../model/problem.js'

/**
 * Moves a file that cannot be inspected to `rejected/`, beside a `.txt` saying why and what to do. The text is written
 * first, so that a file is never there without its reason; a name that is taken gets a number.
 * @returns where the file lies now
 */
export async function rejectFile(file: string, rejected: string, problem: Problem, now: Date): Promise<string> {
  await mkdir(rejected, { recursive: true })
  const name = basename(file)
  const extension = extname(name)
  const stem = name.slice(0, name.length - extension.length)
  for (let n = 1; ; n++) {
    const place = join(rejected, n === 1 ? name : `${stem}-${n}${extension}`)
    if (await there(place)) continue
    await writeFileAtomic(`${place}.txt`, reasonText(name, problem, now), 'utf8')
    await moveFile(file, place)
    return place
  }
}

function reasonText(name: string, { code, what, next }: Problem, now: Date): string {
  const sentence = (text: string) => `${text.slice(0, 1).toUpperCase()}${text.slice(1)}${text.endsWith('.') ? '' : '.'}`
  return [
    `${name} was not inspected.`,
    '',
    `What happened: ${sentence(what)}`,
    `What to do:    ${sentence(next)}`,
    '',
    `(${code}, ${now.toISOString()})`,
    '',
  ].join('\n')
}

/** Moves without ever replacing: a second name, then the first one away; where links are refused, a rename. */
export async function moveFile(from: string, to: string): Promise<void> {
  try {
    await link(from, to)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST' || (await there(to))) throw error
    await rename(from, to)
    return
  }
  await rm(from)
}

async function there(place: string): Promise<boolean> {
  return stat(place).then(
    () => true,
    () => false,
  )
}
