import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import Handlebars from 'handlebars'

/** `reports/` lies at the package's root; this file one folder below src/ or dist/, so the way is the same. */
const TEMPLATES = new URL('../../reports/', import.meta.url)

/** The house: templates and partials compiled once, the style sheet and any script read once. */
let house: { readonly engine: typeof Handlebars; readonly pages: Map<string, Handlebars.TemplateDelegate> } | null =
  null

/**
 * Fills one page template (`reports/<name>.hbs`). Everything is escaped but what is handed in as `SafeString`.
 * The one style sheet, and `reports/<name>.js` when there is one, are put inside the page; a content policy in the
 * page forbids every request and every script but that one. A field the template asks for and the view lacks throws.
 */
export function renderTemplate(name: string, view: object, refreshSeconds: number | null = null): string {
  house ??= openHouse()
  const { engine, pages } = house
  let page = pages.get(name)
  if (page === undefined) {
    page = engine.compile(readTemplate(`${name}.hbs`), { strict: true })
    pages.set(name, page)
  }
  const script = readScript(name)
  const scripts = script === '' ? "'none'" : `'sha256-${createHash('sha256').update(script).digest('base64')}'`
  return page(view, {
    data: {
      refresh: refreshSeconds,
      style: safe(readTemplate('style.css')),
      script: script === '' ? null : safe(script),
      policy: `default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src ${scripts}; base-uri 'none'; form-action 'none'`,
    },
  })
}

/** Marks a string this program made, with all foreign text in it escaped, as markup. */
export function safe(markup: string): Handlebars.SafeString {
  return new Handlebars.SafeString(markup)
}

function openHouse() {
  const engine = Handlebars.create()
  for (const file of readdirSync(new URL('partials/', TEMPLATES))) {
    if (file.endsWith('.hbs'))
      engine.registerPartial(
        file.slice(0, -'.hbs'.length),
        engine.compile(readTemplate(`partials/${file}`), { strict: true }),
      )
  }
  return { engine, pages: new Map<string, Handlebars.TemplateDelegate>() }
}

function readTemplate(file: string): string {
  return readFileSync(new URL(file, TEMPLATES), 'utf8')
}

/** The page's own script; most pages have none. */
function readScript(name: string): string {
  try {
    return readTemplate(`${name}.js`)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return ''
    throw error
  }
}
