import styles from "./Pictures.module.css";
import { textDiff } from "./textDiff.ts";

/** TextDifference shows one text with what was taken out and what came in, said aloud as well as drawn. */
export function TextDifference({ before, after }: { before: string; after: string }) {
  return (
    <span className={styles.lines}>
      {textDiff(before, after).map(({ text, kind }, at) => {
        if (kind === "same") return text;
        const Mark = kind === "added" ? "ins" : "del";
        return (
          <Mark key={at}>
            <span className="unseen">{kind === "added" ? " (added: " : " (taken out: "}</span>
            {text}
            <span className="unseen">) </span>
          </Mark>
        );
      })}
    </span>
  );
}
