import { contextBridge, ipcRenderer } from 'electron'
import { BRIDGE_NAME } from '../../shared/api/bridge.ts'
import { contract } from '../../shared/api/contract.ts'
import { makeBridge } from './expose.ts'

contextBridge.exposeInMainWorld(BRIDGE_NAME, makeBridge(contract, ipcRenderer))
