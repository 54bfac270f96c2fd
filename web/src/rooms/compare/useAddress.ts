// The view in the address of this screen: read it, and write it back without leaving the screen.
import { useState } from "react";
import { useLocation, useSearch } from "wouter";
import { withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { showInstant } from "../../units/durations.ts";
import { dayOf, type Span, showDayOf } from "./view.ts";

/** useAddress gives the query of the address, today, a way to write days, and a way to change the query in place. */
export function useAddress() {
  const search = useSearch();
  const [at, go] = useLocation();
  const { locale } = useUnits();
  const [today] = useState(() => dayOf(Date.now()));
  return {
    search: new URLSearchParams(search),
    today,
    /** "26 Nov 2025 to 25 Nov 2026", for the state line. */
    daysOf: (span: Span) =>
      `${showDayOf(span.fromDay, locale)} to ${showDayOf(span.toDay, locale)}${span.asOf === "" ? "" : `, as known at ${showInstant(Date.parse(span.asOf), locale)}`}`,
    /** Changes the query in place; what is empty is left out. */
    show: (query: Record<string, string>) => go(withQuery(at, query), { replace: true }),
  };
}
