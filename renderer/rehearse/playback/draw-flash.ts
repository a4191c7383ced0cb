import type { Palette } from '../timeline/palette.ts'
import type { Pen } from '../timeline/use-canvas.ts'
import type { FlashPages, PageState } from './flash-pages.ts'

const LABEL = 13
const GAP = 14
const SMALL = 92

/** Program flash in a grid as wide as fits, boot loader and record pages apart at its right. */
export function drawPages(pen: Pen, program: FlashPages, record: FlashPages, boot: FlashPages): void {
  const { context, palette, width, height } = pen
  context.clearRect(0, 0, width, height)
  const grid = { left: 0, top: 0, width: width - SMALL - GAP, height }
  drawGrid(context, palette, program, grid)
  const half = (height - 4) / 2
  drawSmall(pen, 'Boot loader', boot, 0, half)
  drawSmall(pen, 'Image records', record, half + 4, half)
}

interface Box {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/** Rows that make cells as near to square as the space allows. */
export function gridFor(pages: number, width: number, height: number): { columns: number; rows: number } {
  const ideal = Math.max(1, Math.min(pages, Math.round(Math.sqrt((pages * width) / Math.max(1, height)))))
  // A last row that is full looks calmer than cells that are exactly square.
  for (let off = 0; off <= ideal * 0.4; off++)
    for (const columns of [ideal - off, ideal + off])
      if (pages % columns === 0) return { columns, rows: pages / columns }
  return { columns: ideal, rows: Math.ceil(pages / ideal) }
}

function drawGrid(context: CanvasRenderingContext2D, palette: Palette, pages: FlashPages, box: Box): void {
  const { columns, rows } = gridFor(pages.states.length, box.width, box.height)
  const cellWidth = box.width / columns
  const cellHeight = box.height / rows
  for (let page = 0; page < pages.states.length; page++) {
    const left = box.left + (page % columns) * cellWidth
    const top = box.top + Math.floor(page / columns) * cellHeight
    const share = pages.writtenBytes[page] / pages.pageBytes
    const inner = { left, top, width: Math.max(1, cellWidth - 1.5), height: Math.max(1, cellHeight - 1.5) }
    drawCell(context, palette, pages.states[page], share, inner)
  }
}

/** Each state has a shape of its own: empty, a small block, slanted, half or full, crossed. */
function drawCell(
  context: CanvasRenderingContext2D,
  palette: Palette,
  state: PageState,
  share: number,
  box: Box,
): void {
  const { left, top, width, height } = box
  context.fillStyle = palette.raised
  context.fillRect(left, top, width, height)
  if (state === 'before') {
    context.fillStyle = palette.line
    context.fillRect(left + width * 0.2, top + height * 0.2, width * 0.6, height * 0.6)
  }
  if (state === 'written' || state === 'writing') {
    context.fillStyle = palette.accent
    context.fillRect(left, top, width * Math.min(1, share), height)
  }
  context.strokeStyle = state === 'torn' ? palette.danger : state === 'blank' ? palette.line : palette.inkSoft
  context.lineWidth = state === 'torn' || state === 'erasing' || state === 'writing' ? 1.5 : 0.75
  context.beginPath()
  if (state !== 'before') context.rect(left + 0.5, top + 0.5, width - 1, height - 1)
  if (state === 'torn' || state === 'erasing') {
    context.moveTo(left, top + height)
    context.lineTo(left + width, top)
  }
  if (state === 'torn') {
    context.moveTo(left, top)
    context.lineTo(left + width, top + height)
  }
  context.stroke()
}

function drawSmall(
  { context, palette, width }: Pen,
  name: string,
  pages: FlashPages,
  top: number,
  height: number,
): void {
  context.font = `13px ${palette.sans}`
  context.fillStyle = palette.inkSoft
  context.textAlign = 'left'
  context.textBaseline = 'alphabetic'
  context.fillText(name, width - SMALL, top + 11)
  const grid = {
    left: width - SMALL,
    top: top + LABEL + 2,
    width: SMALL,
    height: Math.max(4, height - LABEL - 2),
  }
  drawGrid(context, palette, pages, grid)
}
