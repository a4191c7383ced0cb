/** Names of the channels under the contract. Only the preload and the registration below it know them. */
export const callChannel = (method: string): string => `preflash:call:${method}`
export const eventChannel = (event: string): string => `preflash:event:${event}`
