/** The views that exist. A view that is not here is not shown anywhere. */
export const VIEWS = [
  { id: 'fleet', name: 'Fleet', asks: 'What have I got, and what is out of step?' },
  { id: 'firmware', name: 'Firmware', asks: 'Which image does this receiver need, is it good?' },
  { id: 'rehearse', name: 'Rehearse', asks: 'What will happen if I press go?' },
  { id: 'diagnose', name: 'Diagnose', asks: 'Why is the update not offered? Why does it not answer?' },
  { id: 'bench', name: 'Bench', asks: 'Do it now, and don’t let me kill anything.' },
] as const
export type ViewId = (typeof VIEWS)[number]['id']
