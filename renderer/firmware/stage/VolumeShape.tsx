import type { ReactElement } from 'react'
import type { ListedVolume } from '../../../shared/api/card.ts'

/** One outline a kind, told apart without colour; the words stand beside it. */
const shapes: Readonly<Record<ListedVolume['kind'], ReactElement>> = {
  card: <path d="M5 3h9l5 5v13H5ZM9 6v3M12 6v3M15 9v2" />,
  'radio-internal': <path d="M4 9h16v12H4ZM16 9V2M8 13h4M8 17h8" />,
  'external-disk': <path d="M3 5h18v10H3ZM12 15v6M6 8h12" />,
  'image-file': <path d="M6 3h8l4 4v14H6ZM14 3v4h4M9 12h6M9 16h6" />,
  system: <path d="M3 4h18v12H3ZM8 20h8M12 16v4" />,
  network: <path d="M9 3h6v6H9ZM3 15h6v6H3ZM15 15h6v6h-6ZM12 9v3M6 15v-3h12v3" />,
  memory: <path d="M6 6h12v12H6ZM9 3v3M12 3v3M15 3v3M9 18v3M12 18v3M15 18v3" />,
  'not-known': <path d="M4 4h16v16H4ZM9.5 9.5a2.5 2.5 0 1 1 2.5 2.8V14M12 16.5v1" strokeDasharray="none" />,
}

/** Hidden from screen readers: the kind is said in words. */
export function VolumeShape({ kind }: { readonly kind: ListedVolume['kind'] }) {
  return (
    <svg className="st-shape" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      {shapes[kind]}
    </svg>
  )
}
