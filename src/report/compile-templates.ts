/** Part of `npm run bundle`: compiles the pages' templates to `dist/templates.cjs`, so that no inspection waits for it. */
import { writeFileSync } from 'node:fs'
import Handlebars from 'handlebars'
import { TEMPLATE_OPTIONS, templateSources } from './template-sources.js'

const compiled = (sources: ReadonlyMap<string, string>) =>
  [...sources].map(([name, text]) => `${JSON.stringify(name)}:${Handlebars.precompile(text, TEMPLATE_OPTIONS)}`)

const { pages, partials } = templateSources()
writeFileSync(
  new URL('../../dist/templates.cjs', import.meta.url),
  `module.exports={pages:{${compiled(pages)}},partials:{${compiled(partials)}}}\n`,
)
