import { useQuery } from "@connectrpc/connect-query";
import { useEffect, useRef } from "react";
import { useNetwork } from "../../app/session.tsx";
import { Choice } from "../../kit/Field.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import {
  CompareService,
  Mark,
  Metric,
  type Spread as SpreadFound,
  type Standing,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import styles from "./compare.module.css";
import { Funnel } from "./Funnel.tsx";
import { Held } from "./Held.tsx";
import { MethodLinks } from "./Methods.tsx";
import { Silent } from "./Silent.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { StandingTable } from "./StandingTable.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, dispersions, querySpan, queryView, type View, viewOf } from "./view.ts";
import { YieldRows } from "./YieldRows.tsx";

const metrics = { reprints: Metric.REPRINTS, yield: Metric.YIELD } as const;

const sentSomething = (standing: Standing) => standing.mark !== Mark.SILENT;

/** FairView sets all branches side by side. */
export default function FairView() {
  const { search, today, daysOf, show } = useAddress();
  const view = viewOf(search, today);
  const network = useNetwork();
  const { metric, mixAdjusted, spread, sort, ...span } = view;
  const arrived = useRef<Metric>(Metric.UNSPECIFIED);
  const answer = useQuery(
    CompareService.method.compareBranches,
    { metric, mixAdjusted, dispersion: dispersions[spread], ...asked(span) },
    // The picture stays while a new one is worked out, but reprints are never drawn as yield.
    { placeholderData: (before) => (arrived.current === metric ? before : undefined) },
  );
  const fresh = answer.data !== undefined && !answer.isPlaceholderData;
  useEffect(() => {
    if (fresh) arrived.current = metric;
  }, [fresh, metric]);
  const change = (part: Partial<View>) => show(queryView({ ...view, ...part }, today));
  // A branch's own page has no market: it lies in one.
  const query = querySpan({ ...span, market: "" }, today);
  const data = answer.data;
  const name = `fair-view-${metric === Metric.YIELD ? "yield" : "reprints"}-${span.toDay}`;

  return (
    <Screen
      question="Which branches differ by more than chance?"
      state={{
        network,
        revision: daysOf(span),
        ...(data && { asOf: answer.dataUpdatedAt }),
      }}
      aside={<Held span={span} answered={data?.asOf} onHold={(asOf) => change({ asOf })} />}
    >
      <Answered query={answer} what="the comparison" failed="The branches could not be compared">
        {(data) => (
          <>
            {!data.standings.some(sentSomething) ? (
              <Empty title="No branch sent anything in these days.">
                <p>Choose other days, or take a filter off.</p>
              </Empty>
            ) : metric === Metric.YIELD ? (
              <YieldRows answer={data} mixAdjusted={mixAdjusted} name={name} />
            ) : (
              <Funnel answer={data} query={query} name={name} />
            )}
            <Silent standings={data.standings} />
          </>
        )}
      </Answered>
      <Part title="What is compared">
        <div className={styles.switches}>
          <Choice
            label="Measure"
            row
            value={metric === Metric.YIELD ? "yield" : "reprints"}
            options={[
              { value: "reprints", words: "Reprints" },
              { value: "yield", words: "Yield" },
            ]}
            onChange={(chosen) => change({ metric: metrics[chosen] })}
          />
          <Choice
            label="Difference in work"
            row
            value={mixAdjusted ? "allowed-for" : "as-recorded"}
            options={[
              { value: "allowed-for", words: "Allowed for" },
              { value: "as-recorded", words: "As recorded" },
            ]}
            onChange={(chosen) => change({ mixAdjusted: chosen === "allowed-for" })}
          />
          <Choice
            label="Limits where branches spread more than counting explains"
            hint={spreadWords(data?.spread)}
            value={spread === "" ? "counting" : spread}
            options={[
              { value: "counting", words: "As counting alone gives them" },
              { value: "added", words: "Widened by a variance between branches" },
              { value: "multiplied", words: "Widened by one factor" },
            ]}
            onChange={(chosen) => change({ spread: chosen === "counting" ? "" : chosen })}
          />
        </div>
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric", "market"]}
          onShow={change}
        />
      </Part>
      {data && data.standings.length > 0 && (
        <Part title="Every branch">
          <StandingTable
            metric={metric}
            standings={data.standings}
            sort={sort}
            onSort={(chosen) => change({ sort: chosen })}
            query={query}
          />
          <MethodLinks words={data.method} keys={data.methodKeys} />
        </Part>
      )}
    </Screen>
  );
}

/** spreadWords says how far branches spread beyond counting, where the server found it. */
function spreadWords(spread: SpreadFound | undefined): string {
  if (!spread || spread.branchesCount === 0) return "Fewer branches stand out with widened limits.";
  const times = Math.round(spread.phi * 10) / 10;
  return `Over ${spread.branchesCount} branches the spread is ${times} times what counting alone would give.`;
}
