import styles from "./Wordmark.module.css";

/** Wordmark is the sign, a film corner being peeled, with the name beside it. */
export function Wordmark() {
  return (
    <span className={styles.wordmark}>
      <svg viewBox="0 0 32 32" aria-hidden="true">
        <path d="M3 3h15L29 14v15H3Z" className={styles.film} />
        <path
          d="M18 3c-1.300 5.300-1 8.500 1.100 10.600C21.200 15.600 24.600 15.300 29 14Z"
          className={styles.corner}
        />
        <path d="M23.500 3H29v5.500" className={styles.bare} />
      </svg>
      <span>evenpeel</span>
    </span>
  );
}
