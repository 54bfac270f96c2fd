import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { useNetwork } from "../../app/session.tsx";
import { Select } from "../../kit/Field.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { Associations } from "./Associations.tsx";
import { CauseBars } from "./CauseBars.tsx";
import styles from "./compare.module.css";
import { Held } from "./Held.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, type Span, spanOf } from "./view.ts";
import { causeWords } from "./words.ts";

/** Causes says why pieces were made again over all branches, and what goes together with it. */
export default function Causes() {
  const { search, today, daysOf, show } = useAddress();
  const network = useNetwork();
  const span = spanOf(search, today);
  const branch = search.get("branch") ?? "";
  const cause = search.get("cause") ?? "";
  const branches = useQuery(BranchesService.method.listBranches);
  const answer = useQuery(
    CompareService.method.findCauses,
    { branch, cause, ...asked(span) },
    { placeholderData: keepPreviousData },
  );
  const change = (part: { branch?: string; cause?: string }, days: Span = span) =>
    show({ ...querySpan(days, today), branch, cause, ...part });
  const { data } = answer;
  return (
    <Screen
      question="What goes together with reprints?"
      state={{ network, revision: daysOf(span), ...(data && { asOf: answer.dataUpdatedAt }) }}
      lead={data?.finding}
      aside={<Held span={span} answered={data?.asOf} onHold={(asOf) => change({}, { ...span, asOf })} />}
    >
      <Answered query={answer} what="the causes" failed="The causes could not be looked for">
        {(found) =>
          found.causes.length === 0 ? (
            <Empty title="No reprint was recorded in these days.">
              <p>That may be good work, or reprints that nobody reported.</p>
            </Empty>
          ) : (
            <>
              <CauseBars causes={found.causes} name={`causes-${span.toDay}`} />
              <Part title="What goes together with it">
                <Associations answer={found} name={`associations-${span.toDay}`} />
                <p>{found.method}</p>
              </Part>
            </>
          )
        }
      </Answered>
      <Part title="Where to look">
        <div className={styles.switches}>
          <Select
            label="Cause"
            none="the most frequent, and all together"
            value={cause}
            options={[...new Set([...(data?.causes.map((found) => found.cause) ?? []), cause])]
              .filter((value) => value !== "")
              .map((value) => ({ value, words: causeWords(value) }))}
            onChange={(chosen) => change({ cause: chosen })}
          />
          <Select
            label="Branch"
            none="all branches"
            value={branch}
            options={(branches.data?.branches ?? []).map(({ name, title }) => ({
              value: name,
              words: title,
            }))}
            onChange={(chosen) => change({ branch: chosen })}
          />
        </div>
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric", "market"]}
          onShow={(days) => change({}, days)}
        />
      </Part>
    </Screen>
  );
}
