import { useQuery } from "@connectrpc/connect-query";
import { Link, useParams } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { Associations } from "./Associations.tsx";
import { Report } from "./Branch.tsx";
import styles from "./compare.module.css";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, spanOf } from "./view.ts";
import { When } from "./When.tsx";

/** Pack is everything for a visit at one branch on paper: what stands out, since when, what goes together, room for notes. */
export default function Pack() {
  const { branch = "" } = useParams<{ branch: string }>();
  const { search, today, daysOf } = useAddress();
  const network = useNetwork();
  const span = { ...spanOf(search, today), market: "" };
  const name = `branches/${branch}`;
  const answer = useQuery(CompareService.method.getBranchReport, { branch: name, ...asked(span) });
  const causes = useQuery(CompareService.method.findCauses, { branch: name, ...asked(span) });
  const title = answer.data?.reprints?.title || branch;
  return (
    <Screen
      question={`Visit at ${title}`}
      state={{ network, revision: daysOf(span), ...(answer.data && { asOf: answer.dataUpdatedAt }) }}
      lead={answer.data?.finding}
      aside={<Link href={withQuery(paths.branch(branch), querySpan(span, today))}>Back to the branch</Link>}
    >
      <Actions>
        <Button kind="main" onClick={() => window.print()}>
          Print, or save as PDF
        </Button>
      </Actions>
      <Answered query={answer} what="the branch" failed="The branch could not be looked into">
        {(report) => (
          <Report
            report={report}
            name={branch}
            when={
              <When branch={name} record="" span={span} charting="p" period="week" name={`${branch}-weeks`} />
            }
          />
        )}
      </Answered>
      <Part title="What goes together with reprints here?">
        <Answered query={causes} what="the causes" failed="The causes could not be looked for">
          {(found) => <Associations answer={found} name={`${branch}-associations`} />}
        </Answered>
      </Part>
      <Part title="Agreed at the visit">
        <ol className={styles.lines} aria-label="Lines to write on">
          {["What", "Who", "Until when"].map((words) => (
            <li key={words}>{words}</li>
          ))}
        </ol>
      </Part>
    </Screen>
  );
}
