// What a manager looks at, as it stands in the address: days, filters, switches, sort. Defaults are left out, so that
// a bare /compare always means the last 365 days.

import { type Timestamp, timestampFromMs } from "@bufbuild/protobuf/wkt";
import { Dispersion, Metric } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showDay } from "../../units/durations.ts";

export type Span = {
  fromDay: string;
  toDay: string;
  film: string;
  fabric: string;
  market: string;
  /** The instant that the picture is held at, as ISO 8601 in UTC; empty is now. */
  asOf: string;
};

export type View = Span & {
  metric: Metric.REPRINTS | Metric.YIELD;
  /** Whether the difference in work is allowed for. */
  mixAdjusted: boolean;
  /** How limits widen where branches spread more than counting explains. */
  spread: Spread;
  sort: { key: string; down: boolean };
};

export type Spread = "" | "added" | "multiplied";

/** dispersions are the wire's words for a spread. */
export const dispersions: Record<Spread, Dispersion> = {
  "": Dispersion.NONE,
  added: Dispersion.ADDITIVE,
  multiplied: Dispersion.MULTIPLICATIVE,
};

const usualDays = 365;
const dayMs = 86_400_000;

/** dayOf gives the local day of an instant, "YYYY-MM-DD". */
export function dayOf(instant: number): string {
  const date = new Date(instant);
  const two = (part: number) => String(part).padStart(2, "0");
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}

/** instantOf gives the UTC midnight of a day, for axes and for words; NaN for what is no day of the calendar. */
export function instantOf(day: string): number {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(day)) return Number.NaN;
  const instant = Date.parse(`${day}T00:00:00Z`);
  return Number.isFinite(instant) && new Date(instant).toISOString().startsWith(day) ? instant : Number.NaN;
}

/** showDayOf writes "11 Jan 2027" in one piece; what is no day stays as it is. */
export function showDayOf(day: string, locale: string): string {
  const instant = instantOf(day);
  return Number.isNaN(instant) ? day : showDay(instant, locale, "UTC").replaceAll(" ", "\u00a0");
}

/** sayDays writes the days in a sentence of the service, "2027-01-11", as the person reads them. */
export const sayDays = (words: string, locale: string): string =>
  words.replace(/\b\d{4}-\d{2}-\d{2}\b/g, (day) => showDayOf(day, locale));

const isInstant = (text: string | null) => text !== null && Number.isFinite(Date.parse(text));
const isDay = (day: string | null): day is string => day !== null && Number.isFinite(instantOf(day));

/** usualSpan is the 365 days up to and with today, every film, fabric and market. */
export function usualSpan(today: string): Span {
  const from = new Date(instantOf(today) - (usualDays - 1) * dayMs).toISOString().slice(0, 10);
  return { fromDay: from, toDay: today, film: "", fabric: "", market: "", asOf: "" };
}

/** spanOf reads days and filters; what is no day is taken as not written. */
export function spanOf(search: URLSearchParams, today: string): Span {
  const toDay = search.get("to");
  const usual = usualSpan(isDay(toDay) ? toDay : today);
  const fromDay = search.get("from");
  return {
    fromDay: isDay(fromDay) ? fromDay : usual.fromDay,
    toDay: usual.toDay,
    film: search.get("film") ?? "",
    fabric: search.get("fabric") ?? "",
    market: search.get("market") ?? "",
    asOf: isInstant(search.get("as-of")) ? (search.get("as-of") ?? "") : "",
  };
}

/** viewOf reads the whole view. */
export function viewOf(search: URLSearchParams, today: string): View {
  const spread = search.get("spread");
  return {
    ...spanOf(search, today),
    metric: search.get("metric") === "yield" ? Metric.YIELD : Metric.REPRINTS,
    mixAdjusted: search.get("work") !== "as-recorded",
    spread: spread === "added" || spread === "multiplied" ? spread : "",
    sort: { key: search.get("sort") ?? "title", down: search.get("down") === "yes" },
  };
}

/** querySpan writes days and filters for withQuery. */
export function querySpan(span: Span, today: string): Record<string, string> {
  const usual = usualSpan(today);
  return {
    from: span.fromDay === usual.fromDay && span.toDay === usual.toDay ? "" : span.fromDay,
    to: span.toDay === usual.toDay ? "" : span.toDay,
    film: span.film,
    fabric: span.fabric,
    market: span.market,
    "as-of": span.asOf,
  };
}

/** asked gives a request its span and the instant it is held at. */
export function asked({ asOf, ...span }: Span): { span: Omit<Span, "asOf">; asOf?: Timestamp } {
  return asOf === "" ? { span } : { span, asOf: timestampFromMs(Date.parse(asOf)) };
}

/** queryView writes the whole view for withQuery. */
export function queryView(view: View, today: string): Record<string, string> {
  return {
    ...querySpan(view, today),
    metric: view.metric === Metric.YIELD ? "yield" : "",
    work: view.mixAdjusted ? "" : "as-recorded",
    spread: view.spread,
    sort: view.sort.key === "title" ? "" : view.sort.key,
    down: view.sort.down ? "yes" : "",
  };
}
