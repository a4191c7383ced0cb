import type { ButtonHTMLAttributes, Ref } from 'react'

export interface ButtonProps extends ButtonHTMLAttributes<HTMLButtonElement> {
  readonly kind?: 'plain' | 'primary' | 'quiet' | 'danger'
  readonly ref?: Ref<HTMLButtonElement>
}

export function Button({ kind = 'plain', className, type = 'button', ...rest }: ButtonProps) {
  const classes = ['button', kind === 'plain' ? '' : `button-${kind}`, className ?? '']
    .filter(Boolean)
    .join(' ')
  return <button type={type} className={classes} {...rest} />
}
