/**
 * Every label of a grid through a table, in one loop that all callers share: compiled with the first of them.
 * @param to what each label becomes; labels not named become 0
 */
export function mappedLabels(labels: Uint8Array, to: Readonly<Record<number, number>>): Uint8Array {
  const table = new Uint8Array(256)
  for (const [label, value] of Object.entries(to)) table[Number(label)] = value
  const mapped = new Uint8Array(labels.length)
  for (let i = 0; i < labels.length; i++) mapped[i] = table[labels[i]!]!
  return mapped
}
