/**
 * Imported before anything else in the page: zod compiles its checks with `new Function` when it may, and tries
 * whether it may, which the content security policy refuses and reports. Told so in advance, it does not try.
 */
const shared: { __zod_globalConfig?: { jitless?: boolean } } = globalThis as object
shared.__zod_globalConfig = { ...shared.__zod_globalConfig, jitless: true }

export {}
