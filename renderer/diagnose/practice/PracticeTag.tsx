/** The word that every part of a practice carries. */
export function PracticeTag() {
  return <span className="pr-tag">Practice</span>
}
