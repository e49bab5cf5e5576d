import { createHash } from 'node:crypto'
import { canonicalJson } from './canonical-json.js'

/** Hash that the first row of a chain holds as the one before it. */
export const CHAIN_BEGIN = '0'.repeat(64)

/** One row of the history with its place in the chain. */
export interface ChainLink {
  /** Place in the chain, from 1 without gaps. */
  readonly seq: number
  readonly kind: 'inspection' | 'acceptance' | 'event' | 'retirement' | 'use'
  /** Hash of the row before. */
  readonly previous: string
  /** Every column of the row as it is stored. */
  readonly content: object
}

/** SHA-256 over the canonical JSON of a link, in hexadecimal: it holds the hash before it, so no row can be changed, taken out or put between unseen. */
export function chainHash(link: ChainLink): string {
  return createHash('sha256').update(canonicalJson(link)).digest('hex')
}
