import { describe, expect, it } from "vitest";
import { Metric } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { faultsOf } from "./SpanForm.tsx";
import { instantOf, queryView, usualSpan, viewOf } from "./view.ts";

const today = "2028-03-01";

describe("the view in the address", () => {
  it("is the last 365 days, reprints, work allowed for, by title when nothing is written", () => {
    const view = viewOf(new URLSearchParams(), today);
    // 2028 is a leap year: 29 February counts.
    expect(view).toMatchObject({ fromDay: "2027-03-03", toDay: today, film: "", fabric: "", market: "" });
    expect(view).toMatchObject({ metric: Metric.REPRINTS, mixAdjusted: true, spread: "", asOf: "" });
    expect(view.sort).toEqual({ key: "title", down: false });
    expect(Object.values(queryView(view, today)).every((value) => value === "")).toBe(true);
  });
  it.each([
    "metric=yield&work=as-recorded&spread=added",
    "as-of=2027-04-01T10:00:00.000Z",
    "from=2027-01-01&to=2027-12-31&film=SOFT-MATT&fabric=cotton&market=UK",
    "to=2027-12-31&sort=ratio&down=yes",
    "from=2027-06-01",
  ])("comes back from %s as it went", (written) => {
    const view = viewOf(new URLSearchParams(written), today);
    const query = Object.entries(queryView(view, today)).filter(([, value]) => value !== "");
    expect(viewOf(new URLSearchParams(query), today)).toEqual(view);
  });
  it.each(["2027-02-29", "2027-13-01", "27-01-01", "yesterday", ""])("takes %j for no day", (day) => {
    expect(instantOf(day)).toBeNaN();
    expect(viewOf(new URLSearchParams({ from: day }), today).fromDay).toBe("2027-03-03");
  });
  it("refuses days in the wrong order", () => {
    const span = usualSpan(today);
    expect(faultsOf(span)).toEqual([]);
    expect(faultsOf({ ...span, fromDay: "2028-03-02" })[0]?.path).toBe("from");
    expect(faultsOf({ ...span, toDay: "" })[0]?.path).toBe("to");
  });
});
