import { copyFile, mkdir, readdir } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { stringify } from 'yaml'
import * as z from 'zod'
import { ProblemError } from '../model/problem.js'
import type { SiteSettings } from '../model/site.js'
import { siteSettingsSchema } from '../settings/site-settings.js'
import { type WorkspacePaths, workspacePaths } from './workspace-paths.js'
import { writeWhole, writing } from './write-whole.js'

/**
 * Makes a workspace: folders, the job types to be edited, and `burngate.yaml` with every setting and what it does.
 * @param shipped the program's own `pipelines/`
 * @param settings written instead of the defaults
 * @throws ProblemError WORKSPACE_NOT_EMPTY, FILE_NOT_WRITABLE
 */
export async function initWorkspace(
  folder: string,
  shipped: string,
  settings: Partial<SiteSettings> = {},
): Promise<WorkspacePaths> {
  const paths = workspacePaths(folder)
  const there = await readdir(paths.root).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [] as string[]
    throw new ProblemError('WORKSPACE_NOT_EMPTY', `${paths.root} (${error.code})`)
  })
  if (there.includes(basename(paths.settings)))
    throw new ProblemError('WORKSPACE_NOT_EMPTY', `${paths.root} is a workspace already and`)
  if (there.length > 0) throw new ProblemError('WORKSPACE_NOT_EMPTY', paths.root)
  await writing(paths.root, async () => {
    for (const place of [
      paths.inbox,
      paths.jobTypes,
      paths.scanners,
      paths.reports,
      paths.archive,
      paths.rejected,
      paths.own,
    ])
      await mkdir(place, { recursive: true })
    for (const file of await readdir(shipped))
      if (/\.(yaml|schema\.json)$/.test(file)) await copyFile(join(shipped, file), join(paths.jobTypes, file))
  })
  await writeWhole(paths.settings, siteSettingsText(settings))
  return paths
}

/** `burngate.yaml` as a person first meets it: every setting, its default and its meaning. */
export function siteSettingsText(settings: Partial<SiteSettings> = {}): string {
  const schema = z.toJSONSchema(siteSettingsSchema, { io: 'input' }) as {
    properties: Record<string, { description?: string; default?: unknown; enum?: string[] }>
  }
  const lines = ['# Settings of this burngate workspace. What is not said here has its default.', '']
  for (const [name, { description, default: fallback, enum: choices }] of Object.entries(schema.properties)) {
    const value = name in settings ? settings[name as keyof SiteSettings] : fallback
    const said = choices !== undefined && choices.length > 1 ? ` One of ${choices.join(', ')}.` : ''
    lines.push(`# ${description ?? ''}${said}`)
    lines.push(value === null ? `${name}:` : stringify({ [name]: value }).trimEnd())
    if (name === 'scanners')
      lines.push(
        '# For example, by the names you calibrate them under:',
        '#   scanners:',
        '#     flatbed-a: { maker: As in the file, model: As in the file, dpi: 1200 }',
      )
    lines.push('')
  }
  return lines.join('\n')
}
