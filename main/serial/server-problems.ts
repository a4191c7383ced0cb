import type { Problem } from '../../shared/model/problem.ts'

/** Why a port of a serial server does not open. `file` is its place, as HOST:PORT. */

export const notThere = (file: string): Problem => ({
  code: 'port.server-not-there',
  file,
  message: `No serial server answers at ${file}.`,
  remedy:
    'Look whether it is switched on and in this network, and whether the number after the colon is right.',
})

export const hungUp = (file: string): Problem => ({
  code: 'port.server-ended',
  file,
  message: `The serial server at ${file} ended the connection before the port was open.`,
  remedy: 'Somebody else may have this port open, or the server cannot open it: look there, and try again.',
})

export const speaksOtherwise = (file: string): Problem => ({
  code: 'port.server-other',
  file,
  message: `What answers at ${file} does not lend a serial port by RFC 2217.`,
  remedy: 'Switch RFC 2217 on for this port in the settings of the serial server.',
})

export const notTransparent = (file: string): Problem => ({
  code: 'port.server-other',
  file,
  message: `The serial server at ${file} does not carry all octets as they are.`,
  remedy: 'Allow the telnet option "binary" for this port in the settings of the serial server.',
})
