/** @param what name and ending: `report.json` gives `rehearsal-wren-trainer-cable-seed-1-report.json` */
export const fileNameFor = (
  report: { receiver: { id: string }; route: string; seed: number },
  what: string,
): string => `rehearsal-${report.receiver.id}-${report.route}-seed-${report.seed}-${what}`
