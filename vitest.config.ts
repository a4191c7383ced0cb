import { defineConfig } from 'vitest/config'

const driven = ['test/e2e/**/*.test.{ts,tsx}', 'test/electron/**/*.test.ts']

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'unit',
          include: ['test/**/*.test.{ts,tsx}'],
          exclude: driven,
          testTimeout: 20_000,
          hookTimeout: 20_000,
          sequence: { groupOrder: 0 },
        },
      },
      {
        // Each of these starts a host and a browser: one at a time, after the rest, or they starve each other.
        test: {
          name: 'driven',
          include: driven,
          testTimeout: 90_000,
          hookTimeout: 90_000,
          maxWorkers: 1,
          globalSetup: ['test/support/built.ts'],
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
})
