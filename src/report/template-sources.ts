import { readdirSync, readFileSync } from 'node:fs'

/** `reports/` lies at the package's root; this file one folder below src/ or dist/, so the way is the same. */
const TEMPLATES = new URL('../../reports/', import.meta.url)

/** A field that a template asks for and the view lacks throws. */
export const TEMPLATE_OPTIONS = { strict: true } as const

/** All templates as written, by name: pages, and the partials they are put together from. */
export function templateSources(): {
  readonly pages: ReadonlyMap<string, string>
  readonly partials: ReadonlyMap<string, string>
} {
  return { pages: sourcesIn(''), partials: sourcesIn('partials/') }
}

/** A file of `reports/`. */
export function readTemplateFile(file: string): string {
  return readFileSync(new URL(file, TEMPLATES), 'utf8')
}

function sourcesIn(folder: string): Map<string, string> {
  const files = readdirSync(new URL(folder === '' ? '.' : folder, TEMPLATES)).filter(file => file.endsWith('.hbs'))
  return new Map(files.map(file => [file.slice(0, -'.hbs'.length), readTemplateFile(folder + file)]))
}
