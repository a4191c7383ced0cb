import { Ports } from '../../main/serial/list.ts'
import { openPort } from '../../main/serial/open-port.ts'
import { PortsFile } from '../../main/serial/ports-file.ts'
import { WriteDesk } from '../../main/serial/write-desk.ts'
import { DialectFiles } from '../../main/store/dialect-files.ts'
import type { Journal } from '../../main/store/journal.ts'
import { Logbook } from '../../main/store/logbook.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { soundAnswers } from './sound-answers.ts'
import { writePlan } from './write-plan.ts'

/**
 * A process of its own that writes, to be killed: `FOLDER PORT`. It does what `preflash write` does, and says the id of
 * its session and the number of each event once that has been committed.
 */
const [folder, path] = process.argv.slice(2)

/** Says what is committed as soon as it is, and before anything else is done. */
class TellingLogbook extends Logbook {
  override use<T>(work: (journal: Journal) => T): Promise<T> {
    return super.use(journal => work(telling(journal)))
  }
}

let committed = 0
function telling(journal: Journal): Journal {
  return new Proxy(journal, {
    get(target, name) {
      const value: unknown = Reflect.get(target, name)
      if (typeof value !== 'function') return value
      return (...args: unknown[]) => {
        const result: unknown = value.apply(target, args)
        if (name === 'begin') process.stdout.write(`session ${String(result)}\n`)
        // The session comes first, then what is committed in one go.
        if (name === 'append') for (const _ of args.slice(1)) process.stdout.write(`event ${++committed}\n`)
        return result
      }
    },
  })
}

const ports = new Ports(new PortsFile(folder))
const desk = new WriteDesk({
  ...{ dataFolder: folder, openPort, onLane: () => {} },
  logbook: new TellingLogbook(folder),
  dialects: new DialectFiles(folder),
  ports,
  withFile: async image => image,
  simulate: simulateHere(),
  nowMs: () => performance.now(),
  date: () => new Date(),
})
await ports.add(path)
const plan = writePlan({ port: path })
await desk.rehearse(plan, 1)
const { ended } = await desk.start(plan, soundAnswers(plan))
const end = await ended
process.stdout.write(`end ${end.outcome}\n`)
