import { Notice } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import type { Finding, JudgeResponse } from "../../proto/evenpeel/compliance/v1/compliance_service_pb.ts";
import styles from "./bench.module.css";

const headings: readonly { kind: string; words: string }[] = [
  { kind: "label", words: "Words for the label" },
  { kind: "paper", words: "Papers at hand" },
  { kind: "record", words: "To be kept on record" },
  { kind: "caution", words: "Say at the counter" },
];

/** Verdict shows what rules and notes say about the order, and that it is a help and not the law. */
export function Verdict({ verdict }: { verdict: JudgeResponse }) {
  const of = (kind: string) => verdict.findings.filter((finding) => finding.kind === kind);
  return (
    <Part title="Papers and label">
      {of("block").map((finding) => (
        <Notice key={finding.rule + finding.words} kind="block" title={finding.words}>
          <Citation finding={finding} />
        </Notice>
      ))}
      {of("warning").map((finding) => (
        <Notice key={finding.rule + finding.words} kind="caution" title={finding.words}>
          <Citation finding={finding} />
        </Notice>
      ))}
      {headings.map(({ kind, words }) => {
        const found = of(kind);
        return (
          found.length > 0 && (
            <section key={kind} aria-label={words}>
              <h3>{words}</h3>
              <ul className={styles.advice}>
                {found.map((finding) => (
                  <li key={finding.rule + finding.words + finding.exact}>
                    {finding.words}
                    {finding.exact !== "" && (
                      <>
                        {" "}
                        <q lang={finding.language || undefined}>{finding.exact}</q>
                      </>
                    )}{" "}
                    <Citation finding={finding} />
                  </li>
                ))}
              </ul>
            </section>
          )
        );
      })}
      <p>
        <small>{verdict.disclaimer}</small>
      </p>
    </Part>
  );
}

function Citation({ finding }: { finding: Finding }) {
  if (finding.citation === "") return null;
  return (
    <small>
      {finding.citation}
      {finding.seen === "read" ? "" : " (not checked against the text itself)"}
    </small>
  );
}
