/**
 * A moment as it was written down, without seconds. No zone is converted: a scanner's own clock has none.
 * Anything that is not ISO 8601 is given back as it came.
 */
export function formatTime(iso: string): string {
  const parts = /^(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?(Z|[+-]\d{2}:?\d{2})?$/.exec(iso)
  if (parts === null) return iso
  const zone = parts[3] === 'Z' ? ' UTC' : parts[3] === undefined ? '' : ` ${parts[3]}`
  return `${parts[1]} ${parts[2]}${zone}`
}

/** The day of a moment, or the text as it came. */
export function formatDay(iso: string): string {
  return /^\d{4}-\d{2}-\d{2}/.exec(iso)?.[0] ?? iso
}

const MINUTE = 60_000
const HOUR = 60 * MINUTE
const DAY = 24 * HOUR

/** How long ago, in the largest unit that fits; a moment after `now` says so, because it means a wrong clock. */
export function formatAge(iso: string, now: Date): string {
  const age = now.getTime() - Date.parse(iso)
  if (!Number.isFinite(age)) return 'age unknown'
  if (age < -5 * MINUTE) return 'dated in the future'
  if (age < 2 * MINUTE) return 'just now'
  if (age < 2 * HOUR) return `${Math.floor(age / MINUTE)} min ago`
  if (age < 2 * DAY) return `${Math.floor(age / HOUR)} h ago`
  if (age < 60 * DAY) return `${Math.floor(age / DAY)} days ago`
  if (age < 730 * DAY) return `${Math.floor(age / (30.4375 * DAY))} months ago`
  return `${Math.floor(age / (365.25 * DAY))} years ago`
}
