import { Journal } from '../../main/store/journal.ts'

/**
 * A process of its own that writes into a logbook: `FOLDER COUNT`. It begins a session, says its id, then says the
 * number of each event once that has been committed; with COUNT 0 it goes on until it is killed.
 */
const [folder, count] = process.argv.slice(2)
const most = Number(count) || Number.POSITIVE_INFINITY
const journal = await Journal.open(folder)
const id = journal.begin({ kind: 'write' })
process.stdout.write(`${id}\n`)
for (let n = 1; n <= most; n++) {
  journal.append(id, { kind: 'note', level: 'info', text: `event ${n}` })
  process.stdout.write(`${n}\n`)
}
if (most < Number.POSITIVE_INFINITY) journal.end(id, { ending: 'done', outcome: 'updated' })
journal.close()
