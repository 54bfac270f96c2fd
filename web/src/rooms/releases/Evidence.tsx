import { useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./Releases.module.css";

/** Evidence says in one sentence each what runs show of the recipes in a release. */
export function Evidence({ revisions }: { revisions: readonly string[] }) {
  const recipes = revisions.filter((revision) => revision.startsWith("recipes/")).slice(0, 200);
  const query = useQuery(
    CompareService.method.listEvidence,
    { revisions: recipes },
    { enabled: recipes.length > 0 },
  );
  if (recipes.length === 0) return null;
  return (
    <Part title="What runs show">
      {query.error && <Failure title="The runs could not be looked into" fault={faultOf(query.error)} />}
      {query.data && (
        <>
          <ul className={styles.differences}>
            {query.data.evidence.map((one) => (
              <li key={one.revision}>{one.sentence}</li>
            ))}
          </ul>
          <p>
            <small>{query.data.caveat}</small>
          </p>
        </>
      )}
    </Part>
  );
}
