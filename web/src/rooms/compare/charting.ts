// Which control chart is drawn, as it stands in the address.
import { ChartKind, Every, Metric } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";

export const chartings = {
  p: { words: "Reprints per piece", kind: ChartKind.P, metric: Metric.REPRINTS },
  laney: { words: "Reprints per piece, for busy branches", kind: ChartKind.LANEY, metric: Metric.REPRINTS },
  u: { words: "Reprints per square metre", kind: ChartKind.U, metric: Metric.REPRINTS },
  ewma: { words: "Reprints, moving average", kind: ChartKind.EWMA, metric: Metric.REPRINTS },
  cusum: { words: "Reprints against the work, added up", kind: ChartKind.CUSUM, metric: Metric.REPRINTS },
  yield: { words: "Yield, single values", kind: ChartKind.XMR, metric: Metric.YIELD },
  "yield-average": { words: "Yield, moving average", kind: ChartKind.EWMA, metric: Metric.YIELD },
} as const;
export type Charting = keyof typeof chartings;

export const periods = {
  day: { words: "Days", one: "day", every: Every.DAY },
  week: { words: "Weeks", one: "week", every: Every.WEEK },
  month: { words: "Months", one: "month", every: Every.MONTH },
} as const;
export type Period = keyof typeof periods;

/** chartingOf reads the chart and its periods; what is neither is a p chart by weeks. */
export function chartingOf(search: URLSearchParams): { charting: Charting; period: Period } {
  const chart = search.get("chart") ?? "";
  const every = search.get("every") ?? "";
  return {
    charting: chart in chartings ? (chart as Charting) : "p",
    period: every in periods ? (every as Period) : "week",
  };
}

/** queryCharting writes them; the usual ones are left out. */
export function queryCharting(charting: Charting, period: Period): Record<string, string> {
  return { chart: charting === "p" ? "" : charting, every: period === "week" ? "" : period };
}
