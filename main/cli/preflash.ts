import { Command, CommanderError } from 'commander'
import manifest from '../../package.json' with { type: 'json' }
import { sayProblem } from '../../shared/model/problem.ts'
import { diagnoseCommand } from './diagnose.ts'
import { dialectCommand } from './dialect.ts'
import { emulateCommand } from './emulate.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { fitCommand } from './fit.ts'
import { inspectCommand } from './inspect.ts'
import { logCommand } from './log.ts'
import { outputGone } from './output.ts'
import { portsCommand } from './ports.ts'
import { rehearseCommand } from './rehearse.ts'
import { stageCommand } from './stage.ts'
import { wiringCommand } from './wiring.ts'
import { writeCommand } from './write.ts'

/** The command line. Exit codes: 0 done, 1 the session or check came out negative, 2 bad input. */

function program(end: (ending: Ending) => void): Command {
  return new Command()
    .name('preflash')
    .description('Choose, rehearse and carry out receiver firmware updates.')
    .version(manifest.version)
    .exitOverride()
    .configureOutput({ writeErr: () => {} })
    .addCommand(rehearseCommand(end))
    .addCommand(fitCommand(end))
    .addCommand(inspectCommand(end))
    .addCommand(stageCommand(end))
    .addCommand(diagnoseCommand(end))
    .addCommand(wiringCommand(end))
    .addCommand(portsCommand(end))
    .addCommand(writeCommand(end))
    .addCommand(emulateCommand(end))
    .addCommand(dialectCommand(end))
    .addCommand(logCommand(end))
}

/** @returns the exit code */
async function main(argv: readonly string[]): Promise<number> {
  let ending: Ending = EXIT.done
  try {
    const cli = program(given => {
      ending = given
    })
    for (const command of cli.commands) command.exitOverride().configureOutput({ writeErr: () => {} })
    await cli.parseAsync(argv, { from: 'user' })
    return ending
  } catch (error) {
    if (error instanceof BadInput) {
      for (const problem of error.problems) process.stderr.write(`${sayProblem(problem)}\n`)
      return EXIT.badInput
    }
    if (error instanceof CommanderError) {
      if (error.exitCode === 0) return EXIT.done
      // Nothing was asked for: the help is what commander would have shown.
      const said = error.code === 'commander.help' ? 'No command is named.' : error.message
      process.stderr.write(`${said}\nTry: preflash --help\n`)
      return EXIT.badInput
    }
    throw error
  }
}

// Whoever reads may have read enough, as `head` does.
for (const output of [process.stdout, process.stderr]) output.on('error', e => outputGone(e))

process.exitCode = await main(process.argv.slice(2))
