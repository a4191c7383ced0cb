import { useEffect, useState } from 'react'
import type { AppClient } from '../api/client.ts'

/** Volumes that are being written now, by path. */
export function useWriting(client: Pick<AppClient, 'on'>): readonly string[] {
  const [places, setPlaces] = useState<readonly string[]>([])
  useEffect(() => client.on('card.writing', told => setPlaces(told.places)), [client])
  return places
}
