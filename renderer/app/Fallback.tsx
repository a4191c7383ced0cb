import { Component, type ReactNode } from 'react'
import { Button } from '../ui/Button.tsx'

export interface FallbackProps {
  readonly children: ReactNode
  /** For one view inside the frame: tries the view again, with the rest of the window untouched. */
  readonly onAgain?: () => void
}

interface State {
  readonly failed: boolean
}

/** What stands in the place of something that broke. Around a view, the frame stays, and the bench with it. */
export class Fallback extends Component<FallbackProps, State> {
  override state: State = { failed: false }
  static getDerivedStateFromError(): State {
    return { failed: true }
  }
  override render() {
    const { children, onAgain } = this.props
    if (!this.state.failed) return children
    return (
      <div className="welcome" role="alert">
        <div>
          <h1>{onAgain ? 'This view has stopped working' : 'Preflash has stopped working'}</h1>
          <p className="welcome-lead">
            {onAgain
              ? 'That is our mistake, not yours. Your bench is still here: it can be saved, and the other views work.'
              : 'That is our mistake, not yours. Your bench was kept: unsaved changes are offered again after a reload.'}
          </p>
        </div>
        <div className="app-buttons">
          {onAgain && (
            <Button kind="primary" onClick={onAgain}>
              Try it again
            </Button>
          )}
          <Button kind={onAgain ? 'plain' : 'primary'} onClick={() => location.reload()}>
            Reload
          </Button>
        </div>
      </div>
    )
  }
}
