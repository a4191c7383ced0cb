import { existsSync } from 'node:fs'
import react from '@vitejs/plugin-react'
import { defineConfig } from 'electron-vite'

// The command line is built beside the rest once it is there.
const mainInputs = Object.entries({
  shell: 'main/shell/index.ts',
  host: 'main/host/index.ts',
  cli: 'main/cli/preflash.ts',
  // Run as threads by the others.
  reader: 'main/work/read-worker.ts',
  simulator: 'main/work/sim-worker.ts',
}).filter(([, file]) => existsSync(file))

// Set by main/scripts/build.mjs, which builds aside and moves the result in.
const out = process.env.PREFLASH_OUT ?? 'out'

export default defineConfig({
  main: {
    build: {
      outDir: `${out}/main`,
      lib: { entry: Object.fromEntries(mainInputs), formats: ['es'] },
      rollupOptions: { output: { entryFileNames: '[name].js', chunkFileNames: 'chunks/[name]-[hash].js' } },
    },
  },
  preload: {
    build: {
      outDir: `${out}/preload`,
      // A sandboxed preload has no module loader: one CommonJS file with everything in it.
      externalizeDeps: false,
      lib: { entry: { preload: 'main/shell/preload.ts' }, formats: ['cjs'] },
      rollupOptions: { output: { entryFileNames: '[name].cjs' } },
    },
  },
  renderer: {
    root: 'renderer',
    plugins: [react()],
    build: {
      outDir: `${out}/renderer`,
      // An inlined font or picture would need `data:` in the policy.
      assetsInlineLimit: 0,
      minify: true,
      emptyOutDir: true,
      modulePreload: { polyfill: false },
      rolldownOptions: {
        input: 'renderer/index.html',
        // zod looks for `new Function` as it loads, which the policy forbids; strict.ts tells it not to, and must be
        // in the same chunk, before it.
        output: {
          codeSplitting: {
            groups: [{ name: 'zod', test: /renderer\/api\/strict\.ts|node_modules\/zod\// }],
          },
        },
      },
    },
  },
})
