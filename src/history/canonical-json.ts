/**
 * A value as JSON in one way only: keys in the order of their UTF-16 units, no spaces, numbers as ECMAScript writes them
 * (JSON Canonicalization Scheme, RFC 8785). What is `undefined` in an object is left out.
 * @throws RangeError for a number that JSON does not have
 */
export function canonicalJson(value: unknown): string {
  if (typeof value === 'number' && !Number.isFinite(value))
    throw new RangeError(`a number in JSON must be finite; got ${value}`)
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null'
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`
  const members = Object.entries(value)
    .filter(([, member]) => member !== undefined)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, member]) => `${JSON.stringify(key)}:${canonicalJson(member)}`)
  return `{${members.join(',')}}`
}
