import { type RefObject, useEffect, useRef } from 'react'
import { onPaletteChange, type Palette, readPalette } from './palette.ts'

/** What a drawing is given: CSS pixels, already scaled for the screen. */
export interface Pen {
  readonly context: CanvasRenderingContext2D
  readonly width: number
  readonly height: number
  readonly palette: Palette
}

export interface CanvasHandle {
  readonly ref: RefObject<HTMLCanvasElement | null>
  /** Draws at the next frame; any number of calls before it draw once. */
  readonly redraw: () => void
}

/**
 * A canvas that is drawn when something asks for it, never on its own. `draw` may change with each render; the last
 * one given is used. Time of the last drawing is left in `data-draw-ms` for whoever measures.
 */
export function useCanvas(draw: (pen: Pen) => void): CanvasHandle {
  const ref = useRef<HTMLCanvasElement | null>(null)
  const drawRef = useRef(draw)
  const requestRef = useRef(0)
  const paintRef = useRef<() => void>(() => {})
  const redrawRef = useRef(() => {
    if (requestRef.current === 0) requestRef.current = requestAnimationFrame(() => paintRef.current())
  })

  useEffect(() => {
    drawRef.current = draw
    redrawRef.current()
  })

  useEffect(() => {
    const canvas = ref.current
    const context = canvas?.getContext('2d')
    if (canvas === null || context === null || context === undefined) return
    let palette = readPalette(canvas.parentElement ?? document.body)
    paintRef.current = () => {
      requestRef.current = 0
      const { clientWidth: width, clientHeight: height } = canvas
      if (width === 0 || height === 0) return
      setSize(canvas, width, height)
      const ratio = canvas.width / width
      context.setTransform(ratio, 0, 0, ratio, 0, 0)
      const startMs = performance.now()
      drawRef.current({ context, width, height, palette })
      canvas.dataset.drawMs = (performance.now() - startMs).toFixed(2)
    }
    const redraw = redrawRef.current
    const resize = new ResizeObserver(redraw)
    resize.observe(canvas)
    const stop = onPaletteChange(() => {
      palette = readPalette(canvas.parentElement ?? document.body)
      redraw()
    })
    document.fonts.ready.then(redraw)
    redraw()
    return () => {
      resize.disconnect()
      stop()
      cancelAnimationFrame(requestRef.current)
      requestRef.current = 0
    }
  }, [])

  return { ref, redraw: redrawRef.current }
}

function setSize(canvas: HTMLCanvasElement, width: number, height: number): void {
  const ratio = Math.min(3, devicePixelRatio || 1)
  const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)]
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w
    canvas.height = h
  }
}
