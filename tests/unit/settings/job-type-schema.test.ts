import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { jobTypeJsonSchema, jobTypeSchemaText } from '../../../src/settings/job-type-schema.js'
import { LIMIT_NAMES } from '../../../src/settings/limit-ranges.js'

describe('the JSON Schema of a job type', () => {
  it('is up to date in pipelines/ (else run `npm run docs`)', () => {
    const file = new URL('../../../pipelines/job-type.schema.json', import.meta.url)
    expect(readFileSync(file, 'utf8')).toBe(jobTypeSchemaText())
  })

  it('is JSON, and the same as the schema', () => {
    expect(JSON.parse(jobTypeSchemaText())).toEqual(jobTypeJsonSchema())
  })

  it('names every reading, refuses other keys and asks for name and limits', () => {
    const schema = JSON.parse(jobTypeSchemaText())
    expect(Object.keys(schema.properties.limits.properties)).toEqual(LIMIT_NAMES)
    expect(schema.properties.limits.additionalProperties).toBe(false)
    expect(schema.required).toEqual(['name', 'limits'])
    expect(schema.properties.limits.properties.solidDensity.properties.min.anyOf[0]).toEqual({
      type: 'number',
      minimum: 0,
      maximum: 6,
    })
  })
})
