import { createHash } from 'node:crypto'
import { existsSync } from 'node:fs'
import { createRequire } from 'node:module'
import { fileURLToPath } from 'node:url'
import type { RuntimeOptions, SafeString, TemplateDelegate } from 'handlebars'
import Handlebars from 'handlebars/runtime.js'
import { readTemplateFile, TEMPLATE_OPTIONS, templateSources } from './template-sources.js'

/** What `npm run bundle` compiled (`compile-templates.ts`); there is none beside the source. */
const COMPILED = fileURLToPath(new URL('../templates.cjs', import.meta.url))

/** The house: templates and partials, each made ready when it is first used. */
interface House {
  page(name: string): TemplateDelegate
}

let house: House | null = null

/**
 * Fills one page template (`reports/<name>.hbs`). Everything is escaped but what is handed in as `SafeString`.
 * The one style sheet, and `reports/<name>.js` when there is one, are put inside the page; a content policy in the
 * page forbids every request and every script but that one. A field the template asks for and the view lacks throws.
 */
export function renderTemplate(name: string, view: object, refreshSeconds: number | null = null): string {
  const page = pageOf(name)
  const script = readScript(name)
  const scripts = script === '' ? "'none'" : `'sha256-${createHash('sha256').update(script).digest('base64')}'`
  const options: RuntimeOptions = {
    data: {
      refresh: refreshSeconds,
      style: safe(readTemplateFile('style.css')),
      script: script === '' ? null : safe(script),
      policy: `default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src ${scripts}; base-uri 'none'; form-action 'none'`,
    },
  }
  return page(view, options)
}

/** Loads one page template, so that filling it does not wait for that. */
export function readyToRender(name: string): void {
  pageOf(name)
}

function pageOf(name: string): TemplateDelegate {
  house ??= existsSync(COMPILED) ? compiledHouse() : houseFromSource()
  return house.page(name)
}

/** Marks a string this program made, with all foreign text in it escaped, as markup. */
export function safe(markup: string): SafeString {
  return new Handlebars.SafeString(markup)
}

interface CompiledTemplates {
  readonly pages: Readonly<Record<string, unknown>>
  readonly partials: Readonly<Record<string, unknown>>
}

function compiledHouse(): House {
  const { pages, partials } = createRequire(import.meta.url)(COMPILED) as CompiledTemplates
  const engine = Handlebars.create()
  for (const [name, made] of Object.entries(partials))
    engine.registerPartial(name, engine.template(made as TemplateSpecification))
  return houseOf(name => engine.template(pages[name] as TemplateSpecification))
}

/** The compiler is large and loaded only here. */
function houseFromSource(): House {
  const compiler = createRequire(import.meta.url)('handlebars') as typeof Handlebars
  const engine = compiler.create()
  const { pages, partials } = templateSources()
  for (const [name, text] of partials) engine.registerPartial(name, engine.compile(text, TEMPLATE_OPTIONS))
  return houseOf(name => engine.compile(pages.get(name)!, TEMPLATE_OPTIONS))
}

function houseOf(make: (name: string) => TemplateDelegate): House {
  const made = new Map<string, TemplateDelegate>()
  return {
    page(name) {
      const page = made.get(name) ?? make(name)
      made.set(name, page)
      return page
    },
  }
}

/** The page's own script; most pages have none. */
function readScript(name: string): string {
  try {
    return readTemplateFile(`${name}.js`)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return ''
    throw error
  }
}
