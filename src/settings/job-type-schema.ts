import * as z from 'zod'
import { jobTypeSchema } from './job-type-settings.js'

/** The JSON Schema (draft 2020-12) of a job type file, for editors; the names of limits come from the readings. */
export function jobTypeJsonSchema(): Readonly<Record<string, unknown>> {
  const { $schema, ...rest } = z.toJSONSchema(jobTypeSchema, { io: 'input' })
  return { $schema, title: 'burngate job type', ...rest }
}

/** The same as the text of `pipelines/job-type.schema.json`, laid out as the formatter leaves it. */
export function jobTypeSchemaText(): string {
  const spread = JSON.stringify(jobTypeJsonSchema(), null, 2)
  const oneLine = spread.replace(/\[\s+("[^"\]]*"(?:,\s+"[^"\]]*")*)\s+\]/g, (_all, items: string) => {
    return `[${items.replace(/,\s+/g, ', ')}]`
  })
  return `${oneLine}\n`
}
