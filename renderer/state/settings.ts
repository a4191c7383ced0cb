import type { StoredSettings } from '../../shared/api/settings.ts'
import type { AppClient } from '../api/client.ts'

/**
 * What is remembered between two starts. It lives in the data folder, because the browser's own storage belongs to
 * an address that is another one at each start.
 */
export class Settings {
  private stored: StoredSettings
  private timer: ReturnType<typeof setTimeout> | undefined
  private readonly write: (settings: StoredSettings) => Promise<unknown>

  constructor(stored: StoredSettings, write: (settings: StoredSettings) => Promise<unknown>) {
    this.stored = stored
    this.write = write
  }

  get theme(): StoredSettings['theme'] {
    return this.stored.theme
  }

  set theme(theme: StoredSettings['theme']) {
    this.change({ theme })
  }

  readonly rehearse = this.memoryOf('rehearse')
  readonly fleet = this.memoryOf('fleet')

  /** The part of Storage that a view needs to remember its own set-up. */
  private memoryOf(view: 'rehearse' | 'fleet') {
    return {
      getItem: (key: string): string | null => this.stored[view]?.[key] ?? null,
      setItem: (key: string, value: string): void => {
        if (this.stored[view]?.[key] !== value)
          this.change({ [view]: { ...this.stored[view], [key]: value } })
      },
    }
  }

  private change(part: Partial<StoredSettings>): void {
    this.stored = { ...this.stored, ...part }
    clearTimeout(this.timer)
    this.timer = setTimeout(() => this.flush(), 300)
  }

  /** Writes at once what is waiting to be written, as when the window goes away. */
  flush(): void {
    if (this.timer === undefined) return
    clearTimeout(this.timer)
    this.timer = undefined
    // A settings file that cannot be written is no reason to disturb anybody at work.
    void this.write(this.stored).catch(() => {})
  }
}

/** Asks the machine for them; the defaults where it does not answer. */
export async function loadSettings(client: AppClient): Promise<Settings> {
  const write = (settings: StoredSettings) => client.call('settings.set', { settings })
  try {
    const { settings } = await client.call('settings.get', {})
    return new Settings(settings, write)
  } catch {
    return new Settings({ theme: 'system', rehearse: {} }, write)
  }
}
