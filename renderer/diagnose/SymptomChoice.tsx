import type { SymptomId } from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { symptomGroups } from './words.ts'

/** What is seen: the one question that everything begins with. */
export function SymptomChoice({ onChoose }: { readonly onChoose: (symptom: SymptomId) => void }) {
  return (
    <section className="dg-choice" aria-labelledby="dg-choice-title">
      <h2 id="dg-choice-title">What do you see?</h2>
      <p className="dg-soft">
        Choose what fits best. Then you are asked what tells most for the least work, until it is clear what
        to repair.
      </p>
      <div className="dg-groups">
        {symptomGroups.map(({ title, symptoms }) => (
          <section key={title} aria-label={title}>
            <h3>{title}</h3>
            <ul>
              {symptoms.map(symptom => (
                <li key={symptom}>
                  <button type="button" className="dg-symptom-button" onClick={() => onChoose(symptom)}>
                    {symptomWords[symptom].label}
                  </button>
                </li>
              ))}
            </ul>
          </section>
        ))}
      </div>
    </section>
  )
}
