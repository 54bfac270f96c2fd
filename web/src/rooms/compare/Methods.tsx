import { useQuery } from "@connectrpc/connect-query";
import { useEffect } from "react";
import { Link } from "wouter";
import { paths } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import styles from "./compare.module.css";

/** Methods explains every method in plain words, with its source. A link to one of them opens the page at it. */
export default function Methods() {
  const network = useNetwork();
  const answer = useQuery(CompareService.method.listMethods, {});
  const loaded = answer.data !== undefined;
  useEffect(() => {
    // The browser looked for the target before it was there.
    if (loaded) document.getElementById(location.hash.slice(1))?.scrollIntoView();
  }, [loaded]);
  return (
    <Screen question="How is this worked out?" state={{ network }}>
      <Answered query={answer} what="the methods" failed="The methods could not be listed">
        {(data) => (
          <dl className={styles.methods}>
            {data.methods.map((method) => (
              <div key={method.key} id={method.key}>
                <dt>{method.title}</dt>
                <dd>{method.words}</dd>
                <dd className={styles.source}>Source: {method.source}</dd>
              </div>
            ))}
          </dl>
        )}
      </Answered>
    </Screen>
  );
}

/** MethodLinks leads from an answer to the methods it was made by. */
export function MethodLinks({ words, keys }: { words: string; keys: readonly string[] }) {
  const several = [...new Set(keys)];
  return (
    <p>
      {words}{" "}
      {several.length === 1 && (
        <Link href={`${paths.methods}#${several[0]}`}>In plain words, with its source</Link>
      )}
      {several.length > 1 && (
        <Link href={`${paths.methods}#${several[0]}`}>
          Its {several.length} steps in plain words, with sources
        </Link>
      )}
    </p>
  );
}
