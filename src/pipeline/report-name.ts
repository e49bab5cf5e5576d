/** Longest readable part, bytes; with the id and the extension the name stays far below the 255 bytes of any disk. */
const LONGEST_SLUG = 80

/**
 * File name of a report without its extension: `<positive>__<id>`, the positive in plain letters. Unique because the id
 * is; cannot hold a path, a space or a sign any disk or address minds. From a board row or a record alike.
 */
export function reportName({ positive, id }: { readonly positive: string; readonly id: string }): string {
  const slug = positive
    .normalize('NFKD')
    .replace(/\p{M}+/gu, '')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/[._-]{2,}/g, '-')
    .replace(/^[._-]+|[._-]+$/g, '')
    .slice(0, LONGEST_SLUG)
  const safeId = id.replace(/[^A-Za-z0-9-]/g, '-')
  return `${slug === '' ? 'positive' : slug}__${safeId}`
}
