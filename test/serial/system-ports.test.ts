import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { fromBinding, linuxPorts, systemPorts } from '../../main/serial/system-ports.ts'
import { testFolder } from '../support/folder.ts'

/**
 * A tree as the Linux kernel shows it: Documentation/ABI/stable/sysfs-bus-usb (idVendor, idProduct, serial,
 * manufacturer, product, bInterfaceNumber) and sysfs-class-tty (type).
 */
let folder: ReturnType<typeof testFolder>
beforeEach(() => {
  folder = testFolder('sys')
  mkdirSync(join(folder.path, 'class/tty'), { recursive: true })
})
afterEach(() => folder.remove())

function put(path: string, files: Readonly<Record<string, string>>): string {
  const whole = join(folder.path, path)
  mkdirSync(whole, { recursive: true })
  for (const [name, text] of Object.entries(files)) writeFileSync(join(whole, name), text)
  return whole
}
function tty(name: string, device: string, files: Readonly<Record<string, string>> = {}): void {
  const at = put(`class/tty/${name}`, files)
  symlinkSync(device, join(at, 'device'))
}

describe('the ports of a Linux machine', () => {
  it('are USB adapters with what they say of themselves, and ports on the board', async () => {
    const usb = 'devices/pci0000:00/usb1/1-1/1-1.2'
    put(usb, {
      idVendor: '0403\n',
      idProduct: '6011\n',
      serial: 'FT4ABC\n',
      manufacturer: 'FTDI\n',
      product: 'Quad \u0007RS232\n',
    })
    const second = `${usb}/1-1.2:1.1`
    put(second, { bInterfaceNumber: '01\n' })
    tty('ttyUSB1', put(`${second}/ttyUSB1`, {}))
    tty('ttyS0', put('devices/platform/serial8250', {}), { type: '4\n' })
    tty('ttyS7', join(folder.path, 'devices/platform/serial8250'), { type: '0\n' })
    put('class/tty/tty1', {})
    put('class/tty/ptmx', {})
    expect(await linuxPorts(folder.path)).toEqual([
      { path: '/dev/ttyS0', usb: undefined },
      {
        path: '/dev/ttyUSB1',
        usb: {
          vendorId: '0403',
          productId: '6011',
          interfaceNumber: '01',
          serialNumber: 'FT4ABC',
          manufacturer: 'FTDI',
          product: 'Quad  RS232',
          socket: '1-1.2',
        },
      },
    ])
  })

  it('are none where there is no /sys, and never an error', async () => {
    expect(await linuxPorts(join(folder.path, 'nothing'))).toEqual([])
    expect(Array.isArray(await systemPorts())).toBe(true)
  })

  it('are read from what the binding lists on other systems, with or without ids', () => {
    expect(fromBinding({ path: 'COM3', vendorId: '0403', productId: '6001', serialNumber: 'A1' })).toEqual({
      path: 'COM3',
      usb: {
        ...{ vendorId: '0403', productId: '6001', serialNumber: 'A1' },
        ...{ manufacturer: undefined, socket: undefined },
      },
    })
    expect(fromBinding({ path: 'COM1', vendorId: 'rubbish' })).toEqual({ path: 'COM1', usb: undefined })
  })
})
