/** Where work can hurt somebody or kill a receiver, in the size of the step itself. */
export const Caution = ({ children }: { readonly children: string }) => (
  <p className="gd-caution">
    <strong>
      <span aria-hidden="true">▲</span> Caution.
    </strong>{' '}
    {children}
  </p>
)
