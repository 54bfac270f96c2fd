// StepBar shows where in a known row of steps somebody stands, in numbers, words and shape.
import { classes } from "./classes.ts";
import styles from "./StepBar.module.css";

type StepBarProps = {
  /** Words of every step. */
  steps: readonly string[];
  /** Index of the step in hand; steps before it are done. */
  at: number;
  label: string;
};

/** StepBar lists the steps; on a narrow screen only the one in hand keeps its words. */
export function StepBar({ steps, at, label }: StepBarProps) {
  return (
    <nav className={styles.bar} aria-label={label}>
      <p className={styles.count}>
        Step {at + 1} of {steps.length}
      </p>
      <ol className={styles.steps}>
        {steps.map((step, index) => (
          <li
            key={step}
            className={classes(styles.step, index < at && styles.done, index === at && styles.now)}
            aria-current={index === at ? "step" : undefined}
          >
            <span className={styles.words}>
              {step}
              <span className="unseen">{index < at ? ", done" : index > at ? ", to come" : ", now"}</span>
            </span>
          </li>
        ))}
      </ol>
    </nav>
  );
}
