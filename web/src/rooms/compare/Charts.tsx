import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { useNetwork } from "../../app/session.tsx";
import { Checkbox, Choice } from "../../kit/Field.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import { CompareService, Metric } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { type Period, periods } from "./charting.ts";
import styles from "./compare.module.css";
import { Held } from "./Held.tsx";
import { Multiples } from "./Multiples.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, type Span, spanOf } from "./view.ts";

type Choices = { yields: boolean; laney: boolean; period: Period };

/** Charts draws every branch over time on one common axis. */
export default function Charts() {
  const { search, today, daysOf, show } = useAddress();
  const network = useNetwork();
  const span = spanOf(search, today);
  const every = search.get("every") ?? "";
  const chosen: Choices = {
    yields: search.get("metric") === "yield",
    laney: search.get("limits") === "busy",
    period: every in periods ? (every as Period) : "month",
  };
  const answer = useQuery(
    CompareService.method.listCharts,
    {
      metric: chosen.yields ? Metric.YIELD : Metric.REPRINTS,
      laney: chosen.laney && !chosen.yields,
      every: periods[chosen.period].every,
      ...asked(span),
    },
    { placeholderData: keepPreviousData },
  );
  const change = (part: Partial<Choices>, days: Span = span) => {
    const next = { ...chosen, ...part };
    show({
      ...querySpan(days, today),
      metric: next.yields ? "yield" : "",
      limits: next.laney ? "busy" : "",
      every: next.period === "month" ? "" : next.period,
    });
  };
  const { data } = answer;
  return (
    <Screen
      question="Who changed, and when?"
      state={{ network, revision: daysOf(span), ...(data && { asOf: answer.dataUpdatedAt }) }}
      aside={<Held span={span} answered={data?.asOf} onHold={(asOf) => change({}, { ...span, asOf })} />}
    >
      <Answered query={answer} what="the branches over time" failed="The branches could not be charted">
        {(charts) =>
          charts.charts.every(({ silent }) => silent) ? (
            <Empty title="No branch sent anything in these days.">
              <p>Choose other days, or take a filter off.</p>
            </Empty>
          ) : (
            <Multiples
              answer={charts}
              name={`over-time-${chosen.yields ? "yield" : "reprints"}-${span.toDay}`}
              measure={chosen.yields ? "Yield" : "Reprints per piece"}
              query={querySpan({ ...span, market: "" }, today)}
            />
          )
        }
      </Answered>
      <Part title="What is drawn">
        <div className={styles.switches}>
          <Choice
            label="Measure"
            row
            value={chosen.yields ? "yield" : "reprints"}
            options={[
              { value: "reprints", words: "Reprints" },
              { value: "yield", words: "Yield" },
            ]}
            onChange={(measure) => change({ yields: measure === "yield" })}
          />
          <Choice
            label="In periods of"
            row
            value={chosen.period}
            options={(Object.keys(periods) as Period[]).map((value) => ({
              value,
              words: periods[value].words,
            }))}
            onChange={(period) => change({ period })}
          />
          {!chosen.yields && (
            <Checkbox
              label="Widen limits by how much neighbouring periods really differ"
              hint="For busy branches: Laney’s p′ chart."
              checked={chosen.laney}
              onChange={(laney) => change({ laney })}
            />
          )}
        </div>
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric", "market"]}
          onShow={(days) => change({}, days)}
        />
        {data && <p>{data.method}</p>}
      </Part>
    </Screen>
  );
}
