import { isMap, isScalar, isSeq, LineCounter, type Node, type Pair, parseDocument, visit, type YAMLMap } from 'yaml'
import * as z from 'zod'
import { ProblemError } from '../model/problem.js'
import { nearestName } from './nearest-name.js'

/** Longest settings file that is read, characters: a hundred times what a shop writes. */
export const LONGEST_SETTINGS_TEXT = 262_144

/** How a kind of settings file is read. */
export interface YamlRules {
  /** Raised when the file is not right. */
  readonly problem: 'SETTINGS_INVALID' | 'SIDECAR_INVALID' | 'LADDER_PLAN_INVALID'
  /** Top-level keys that are text even when they look like a number: `positive: 0012` stays `0012`. */
  readonly textKeys?: readonly string[]
  /** Top-level keys with nothing after the colon count as not given. */
  readonly blankIsAbsent?: boolean
}

interface Fault {
  readonly line: number
  readonly sentence: string
}

/**
 * Reads a YAML text through a strict schema into a frozen value.
 * @param text the file's content; an empty file is an empty map
 * @param file the file's name, for the sentences only
 * @throws ProblemError with every fault of the file, in line order: line, key, value, rule and the nearest right name
 */
export function readYaml<Schema extends z.ZodType>(
  text: string,
  file: string,
  schema: Schema,
  rules: YamlRules,
): z.output<Schema> {
  const refuse = (faults: readonly Fault[]): never => {
    const sentences = [...faults].sort((a, b) => a.line - b.line).map(f => `line ${f.line}, ${f.sentence}`)
    throw new ProblemError(rules.problem, `${plain(file, 200)} ${[...new Set(sentences)].join('; ')}`)
  }
  if (!(text.length <= LONGEST_SETTINGS_TEXT))
    refuse([{ line: 1, sentence: `the file has ${text.length} characters; at most ${LONGEST_SETTINGS_TEXT} are read` }])

  const lines = new LineCounter()
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false })
  const lineAt = (offset: number): number => Math.max(1, lines.linePos(offset).line)
  const broken = [...document.errors, ...document.warnings]
  if (broken.length > 0)
    refuse(
      broken.map(e => ({ line: lineAt(e.pos[0]), sentence: `not YAML as it should be: ${plain(e.message, 160)}` })),
    )

  const odd: Fault[] = []
  visit(document, {
    Alias: (_key, node) => {
      odd.push({ line: lineAt(node.range?.[0] ?? 0), sentence: 'aliases (`*name`) are not read; write the value out' })
    },
    Pair: (_key, pair) => {
      const name = keyOf(pair as Pair)
      if (name === '__proto__' || (isMap(pair.value) && !isScalar(pair.key)))
        odd.push({ line: lineAt(startOf(pair.key)), sentence: `\`${plain(name, 60)}\` cannot be a key` })
    },
  })
  if (odd.length > 0) refuse(odd)

  const root = document.contents
  if (root !== null && !isMap(root) && !(isScalar(root) && root.value === null))
    refuse([{ line: 1, sentence: 'the file must be `key: value` lines' }])
  const map = isMap(root) ? root : null
  if (map !== null) {
    for (const pair of map.items) {
      if (!isScalar(pair.value)) continue
      const source = pair.value.source
      if (pair.value.value !== null && rules.textKeys?.includes(keyOf(pair)) && source !== undefined)
        pair.value.value = source
    }
    if (rules.blankIsAbsent)
      map.items = map.items.filter(
        pair => !(pair.value === null || (isScalar(pair.value) && pair.value.value === null)),
      )
  }

  const data: unknown = map === null ? {} : document.toJS()
  const parsed = schema.safeParse(data)
  if (parsed.success) return deepFreeze(parsed.data)
  return refuse(parsed.error.issues.flatMap(issue => faultsOf(issue, data, map, schema, lineAt)))
}

/** As much of a JSON Schema as is needed to name the right keys. */
interface Shape {
  readonly properties?: Readonly<Record<string, Shape>>
  readonly additionalProperties?: Shape | boolean
  readonly items?: Shape
}

type Issue = z.core.$ZodIssue
type Path = readonly PropertyKey[]

function faultsOf(
  issue: Issue,
  data: unknown,
  map: YAMLMap | null,
  schema: z.ZodType,
  lineAt: (offset: number) => number,
): readonly Fault[] {
  const name = written(issue.path)
  const line = lineAt(placeOf(map, issue.path))
  if (issue.code === 'unrecognized_keys') {
    const known = knownKeys(schema, issue.path)
    return issue.keys.map(key => {
      const near = nearestName(key, known)
      const hint = near === null ? `known are ${known.join(', ')}` : `did you mean \`${near}\`?`
      const full = plain(written([...issue.path, key]), 80)
      return {
        line: lineAt(placeOf(map, [...issue.path, key])),
        sentence: `\`${full}\`: there is no such key; ${hint}`,
      }
    })
  }
  if (issue.code === 'invalid_key') return [{ line, sentence: `\`${plain(name, 80)}\`: ${issue.issues[0]!.message}` }]
  if (issue.code === 'invalid_union') {
    // The branch of the right type says what is wrong with the value; when none has it, a number is asked for before text.
    const meant = issue.errors.find(branch => branch.some(i => i.code !== 'invalid_type'))
    const numbers = issue.errors.flat().filter(i => !(i.code === 'invalid_type' && i.expected === 'string'))
    const wanted = meant ?? (numbers.length > 0 ? numbers : issue.errors.flat())
    const value = valueAt(data, issue.path)
    const rule = [...new Set(wanted.map(i => ruleOf(i, value)))].join(' or ')
    return [{ line, sentence: `\`${name}\` is ${shown(value)}; ${rule}` }]
  }
  const value = valueAt(data, issue.path)
  const head = value === undefined ? `\`${name}\` is missing` : `\`${name}\` is ${shown(value)}`
  return [{ line, sentence: `${name === '' ? 'the file' : head}; ${ruleOf(issue, value)}` }]
}

/** The rule an issue broke, as `it must be ...`. Messages that a schema wrote itself are kept. */
function ruleOf(issue: Issue, value: unknown): string {
  switch (issue.code) {
    case 'invalid_type':
      return `it must be ${KINDS[issue.expected] ?? issue.expected}`
    case 'too_small':
    case 'too_big': {
      const end = issue.code === 'too_small' ? `${issue.minimum} or more` : `${issue.maximum} or less`
      if (issue.origin === 'string') return `it must have ${end} characters`
      if (issue.origin === 'array') return `it must have ${end} entries`
      return `it must be ${end}`
    }
    case 'invalid_value': {
      const names = issue.values.map(String)
      const near = typeof value === 'string' ? nearestName(value, names) : null
      return `it must be ${names.join(' or ')}${near === null ? '' : `; did you mean \`${near}\`?`}`
    }
    default:
      return issue.message
  }
}

const KINDS: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  string: 'text',
  boolean: 'true or false',
  object: 'a group of `key: value` lines',
  record: 'a group of `key: value` lines',
  array: 'a list',
  tuple: 'a list',
  null: 'empty or null',
}

function knownKeys(schema: z.ZodType, path: Path): readonly string[] {
  let at: Shape | undefined = z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) as Shape
  for (const step of path) {
    const more: Shape | boolean | undefined = at?.additionalProperties
    at =
      typeof step === 'number'
        ? at?.items
        : (at?.properties?.[String(step)] ?? (typeof more === 'object' ? more : undefined))
  }
  return Object.keys(at?.properties ?? {})
}

/** Offset of a key in the text; of its nearest enclosing key when it is not there. */
function placeOf(map: YAMLMap | null, path: Path): number {
  let offset = 0
  let node: unknown = map
  for (const step of path) {
    if (isSeq(node)) {
      const item: unknown = node.items[Number(step)]
      if (item === undefined) break
      offset = startOf(item)
      node = item
      continue
    }
    if (!isMap(node)) break
    const pair: Pair | undefined = node.items.find(p => keyOf(p) === String(step))
    if (pair === undefined) break
    offset = startOf(pair.key)
    node = pair.value
  }
  return offset
}

/** A path as a person counts it: `modes[2].minutes` is the second mode's. */
function written(path: Path): string {
  return path.reduce<string>(
    (text, step) =>
      typeof step === 'number' ? `${text}[${step + 1}]` : `${text}${text === '' ? '' : '.'}${String(step)}`,
    '',
  )
}

function keyOf(pair: Pair): string {
  return isScalar(pair.key) ? String(pair.key.value) : String(pair.key)
}

function startOf(node: unknown): number {
  return (node as Node | null)?.range?.[0] ?? 0
}

function valueAt(data: unknown, path: Path): unknown {
  let at = data
  for (const step of path)
    at = typeof at === 'object' && at !== null ? (at as Record<PropertyKey, unknown>)[step] : undefined
  return at
}

function shown(value: unknown): string {
  if (value === null) return 'empty'
  if (typeof value === 'string') return `"${plain(value, 60)}"`
  if (typeof value === 'object') return Array.isArray(value) ? 'a list' : 'a group'
  return String(value)
}

/** Text fit for one line of a message: no control characters, not endless. */
function plain(text: string, longest: number): string {
  const clean = text.replace(/\p{C}+/gu, ' ').trim()
  return clean.length > longest ? `${clean.slice(0, longest)}…` : clean
}

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value)
    for (const inner of Object.values(value)) deepFreeze(inner)
  }
  return value
}
