// When asks for a control chart of a branch, of a recipe, or of a recipe at a branch, and draws it.
import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { Select } from "../../kit/Field.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { ControlChart } from "./ControlChart.tsx";
import { type Charting, chartings, type Period, periods } from "./charting.ts";
import styles from "./compare.module.css";
import { MethodLinks } from "./Methods.tsx";
import { asked, type Span } from "./view.ts";

type WhenProps = {
  branch: string;
  record: string;
  span: Span;
  charting: Charting;
  period: Period;
  name: string;
  /** Left out, the chart stays as it is, as on paper. */
  onChart?: (charting: Charting, period: Period) => void;
};

export function When({ branch, record, span, charting, period, name, onChart }: WhenProps) {
  const { kind, metric } = chartings[charting];
  const answer = useQuery(
    CompareService.method.getChart,
    { branch, record, kind, metric, every: periods[period].every, ...asked(span) },
    { placeholderData: keepPreviousData },
  );
  return (
    <>
      <Answered query={answer} what="the chart" failed="The chart could not be drawn">
        {(chart) =>
          chart.points.length === 0 ? (
            <Empty title="Nothing was reported in these days.">
              <p>Choose other days, or take a filter off.</p>
            </Empty>
          ) : (
            <>
              <ControlChart chart={chart} charting={charting} span={span} name={name} />
              <MethodLinks words={chart.method} keys={chart.methodKey === "" ? [] : [chart.methodKey]} />
            </>
          )
        }
      </Answered>
      {onChart && (
        <div className={styles.switches} data-screen-only>
          <Select
            label="What is charted"
            value={charting}
            options={(Object.keys(chartings) as Charting[])
              .filter((value) => branch !== "" || value !== "cusum")
              .map((value) => ({ value, words: chartings[value].words }))}
            onChange={(chosen) => onChart(chosen, period)}
          />
          <Select
            label="In periods of"
            value={period}
            options={(Object.keys(periods) as Period[]).map((value) => ({
              value,
              words: periods[value].words,
            }))}
            onChange={(chosen) => onChart(charting, chosen)}
          />
        </div>
      )}
    </>
  );
}
