import { Component, type ReactNode } from 'react'
import { Button } from '../ui/Button.tsx'

interface State {
  readonly failed: boolean
}

/** When a view breaks, the rest stays, and the bench with it. */
export class Fallback extends Component<{ readonly children: ReactNode }, State> {
  override state: State = { failed: false }
  static getDerivedStateFromError(): State {
    return { failed: true }
  }
  override render() {
    if (!this.state.failed) return this.props.children
    return (
      <div className="welcome" role="alert">
        <h1>This part of Preflash has stopped working</h1>
        <p>Your bench was kept: unsaved changes are offered again after a reload.</p>
        <div>
          <Button kind="primary" onClick={() => location.reload()}>
            Reload
          </Button>
        </div>
      </div>
    )
  }
}
