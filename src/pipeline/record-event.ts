import { ProblemError } from '../model/problem.js'
import type { ProcessEvent, ProcessStore } from '../model/process.js'
import { nearestName } from '../settings/nearest-name.js'

export interface EventTask {
  /** What happened, as a person calls it. */
  readonly name: string
  readonly printer?: string
  readonly stock?: string
  /** From when on; absent: now. */
  readonly on?: Date
}

export interface EventOutcome {
  readonly event: ProcessEvent
  /** It was written down before. */
  readonly known: boolean
  /** Sentences for whoever wrote it down. */
  readonly remarks: readonly string[]
}

const KINDS: Readonly<Record<string, ProcessEvent['kind']>> = {
  'new head': 'newHead',
  'new ink': 'newInk',
  'new box': 'newBox',
  'new box of film': 'newBox',
}
const LONGEST = 120

/**
 * Writes down what was changed on a printer. Append-only: nothing takes an event back.
 * @throws ProblemError EVENT_INVALID for an empty or too long name, or a day to come; or as the store
 */
export async function recordEvent(
  task: EventTask,
  { store, now }: { readonly store: ProcessStore; readonly now: () => Date },
): Promise<EventOutcome> {
  const at = now()
  const on = task.on ?? at
  const name = words('what happened', task.name)
  const printer = task.printer === undefined ? null : words('--printer', task.printer)
  const stock = task.stock === undefined ? null : words('--stock', task.stock)
  if (!(on.getTime() <= at.getTime()))
    throw new ProblemError('EVENT_INVALID', `${on.toISOString().slice(0, 10)} is still to come`)
  const event: ProcessEvent = {
    on: on.toISOString(),
    kind: KINDS[name.toLowerCase()] ?? 'other',
    name,
    printer,
    stock,
    recordedAt: at.toISOString(),
  }
  const known = !(await store.addEvent(event))
  const films = await store.processFilms()
  const remarks: string[] = []
  for (const [what, told] of [
    ['printer', printer],
    ['stock', stock],
  ] as const) {
    if (told === null) continue
    const there = [...new Set(films.flatMap(film => film[what] ?? []))]
    if (there.includes(told)) continue
    const near = nearestName(told, there)
    remarks.push(
      `No film in the history is of ${what} "${told}" yet${near === null ? '' : `; did you mean "${near}"? Then write it down again so`}.`,
    )
  }
  return { event, known, remarks }
}

function words(what: string, text: string): string {
  const said = text.trim().normalize('NFC')
  if (said === '') throw new ProblemError('EVENT_INVALID', `${what} is empty`)
  if (said.length > LONGEST) throw new ProblemError('EVENT_INVALID', `${what} has ${said.length} characters`)
  return said
}
