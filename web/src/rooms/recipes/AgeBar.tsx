import styles from "./SecondLook.module.css";

/** AgeBar shows how long something waits against the longest wait in the list. */
export function AgeBar({ share, words }: { share: number; words: string }) {
  return (
    <span className={styles.age}>
      <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
        <rect width={Math.max(2, Math.min(100, share * 100))} height="8" fill="var(--ink)" />
      </svg>
      {words}
    </span>
  );
}
