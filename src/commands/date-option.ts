/**
 * A date of the command line: `2026-12-31`, the day's first moment in UTC, or an ISO 8601 time.
 * @returns null when it is none, or a day that the calendar does not have
 */
export function dateOption(text: string): Date | null {
  const parts = /^(\d{4})-(\d{2})-(\d{2})(T\d{2}:\d{2}(:\d{2})?(Z|[+-]\d{2}:\d{2})?)?$/.exec(text)
  if (parts === null) return null
  const [year, month, day] = [Number(parts[1]), Number(parts[2]), Number(parts[3])]
  const known = new Date(Date.UTC(year, month - 1, day))
  if (known.getUTCMonth() !== month - 1 || known.getUTCDate() !== day) return null
  const ms = Date.parse(text)
  return Number.isFinite(ms) ? new Date(ms) : null
}
