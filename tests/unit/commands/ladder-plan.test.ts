import { afterEach, beforeEach, expect, it } from 'vitest'
import { ladderPlanCommand } from '../../../src/commands/ladder-plan.js'
import { program } from '../../support/program.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const PLAN = `name: spring
jobType: fine-line
stocks: [stock-a, stock-b]
modes: [{ name: fast, dpi: [720, 720], directions: 2, minutes: 1.5 }]
levels: [4, 6, 8]
`
let folder: ScanFolder
let it_: ReturnType<typeof program>
beforeEach(() => {
  folder = scanFolder()
  it_ = program(folder.path)
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})

it('says how many prints there are and in what order', async () => {
  folder.put('plan.yaml', PLAN)
  expect(await ladderPlanCommand('plan.yaml', {}, it_.app)).toBe(0)
  const said = it_.said()
  expect(said).toContain('2 film stocks, 1 mode, 3 levels, to satisfy fine-line')
  expect(said).toContain('6 combinations: 6 prints on 6 sheets')
  expect(said).toMatch(/4 +stock-b +fast +8 +stock\n/)
  expect(await ladderPlanCommand('plan.yaml', { json: true }, it_.app)).toBe(0)
  const [json] = it_.json()
  expect(json).toMatchObject({ schema: 'burngate/ladder-plan@1', combinations: 6, cost: { minutes: 9, ink: 36 } })
  expect(json.prints).toHaveLength(6)
})

it('says no word of ink where none is told, and counts it where it is', async () => {
  folder.put('plan.yaml', PLAN)
  await ladderPlanCommand('plan.yaml', {}, it_.app)
  expect(it_.said()).toContain('About 9 minutes of printing, were')
  folder.put('ink.yaml', `${PLAN}inkPerLevel: 0.1\n`)
  await ladderPlanCommand('ink.yaml', {}, it_.app)
  expect(it_.said()).toContain('About 9 minutes of printing and up to 3.6 ml of ink')
})

it('refuses a plan that is not right, an unknown job type and a file that is not there', async () => {
  folder.put('twice.yaml', PLAN.replace('[4, 6, 8]', '[4, 6, 6]'))
  folder.put('type.yaml', PLAN.replace('fine-line', 'fine-lin'))
  const problem = (file: string) =>
    ladderPlanCommand(file, {}, it_.app).then(
      () => null,
      error => error.problem,
    )
  expect(await problem('twice.yaml')).toMatchObject({ code: 'LADDER_PLAN_INVALID' })
  expect(await problem('type.yaml')).toMatchObject({
    code: 'JOB_TYPE_UNKNOWN',
    what: expect.stringContaining('did you mean fine-line?'),
  })
  expect(await problem('none.yaml')).toMatchObject({ code: 'FILE_MISSING' })
})
