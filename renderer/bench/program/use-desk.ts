import { useSyncExternalStore } from 'react'
import type { WriteDesk, WriteSnapshot } from './desk.ts'

export const useWrites = (desk: WriteDesk): WriteSnapshot => useSyncExternalStore(desk.subscribe, desk.get)
