import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { parse } from 'yaml'

/** What a named print setting says of the films printed with it; null where its file does not say. */
export interface PrintSetting {
  readonly stock: string | null
  readonly mode: string | null
  /** Why it must not be printed with any more, with the day; null: it may. */
  readonly withdrawn: { readonly on: string; readonly why: string } | null
}

/** Named settings by name; null where a file is there and is not one. */
export type PrintSettingShelf = ReadonlyMap<string, PrintSetting | null>

/** The settings an ink ladder proved, `settings/<name>.yaml`; none where there is no such folder. A file that cannot be read is there all the same. */
export async function loadPrintSettings(folder: string): Promise<PrintSettingShelf> {
  const names = (await readdir(folder).catch(() => [])).filter(name => /^[^.].*\.ya?ml$/i.test(name)).sort()
  const found = new Map<string, PrintSetting | null>()
  for (const name of names) found.set(name.replace(/\.ya?ml$/i, ''), await settingIn(join(folder, name)))
  return found
}

async function settingIn(file: string): Promise<PrintSetting | null> {
  let content: unknown
  try {
    content = parse(await readFile(file, 'utf8'))
  } catch {
    return null
  }
  if (content === null || typeof content !== 'object') return null
  const { stock, mode, withdrawn } = content as {
    readonly stock?: unknown
    readonly mode?: { readonly name?: unknown } | null
    readonly withdrawn?: { readonly on?: unknown; readonly why?: unknown } | null
  }
  return {
    stock: text(stock),
    mode: text(mode?.name),
    withdrawn: withdrawn == null ? null : { on: text(withdrawn.on) ?? 'a day', why: text(withdrawn.why) ?? '' },
  }
}

function text(value: unknown): string | null {
  return typeof value === 'string' && value !== '' ? value : null
}
