/** `npm run docs`: writes what is generated from the code: README's tables and pipelines/job-type.schema.json. */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { jobTypeSchemaText } from './job-type-schema.js'
import { updateReadme } from './readme-tables.js'

const readme = new URL('../../README.md', import.meta.url)
const measure = new URL('../measure/', import.meta.url)
writeFileSync(readme, updateReadme(readFileSync(readme, 'utf8'), readdirSync(measure)))
writeFileSync(new URL('../../pipelines/job-type.schema.json', import.meta.url), jobTypeSchemaText())
