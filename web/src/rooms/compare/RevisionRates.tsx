import { useUnits } from "../../kit/choices.ts";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type {
  CompareRevisionsResponse,
  RevisionRate,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { IntervalRows } from "./IntervalRows.tsx";
import { showDayOf } from "./view.ts";

/** RevisionRates draws the rate by revision and lists the difference of each to the one before. */
export function RevisionRates({ answer, name }: { answer: CompareRevisionsResponse; name: string }) {
  const units = useUnits();
  const { revisions } = answer;
  const percent = (rate: number) => `${units.number(rate * 100, 2)} %`;
  // "points": the difference of two shares, not a share of one.
  const points = (change: number) => {
    const written = units.number(Math.abs(change) * 100, 2);
    return change < 0 ? `\u2212${written}` : `+${written}`;
  };
  return (
    <>
      <IntervalRows
        finding={answer.finding}
        name={name}
        axis="Reprints per piece, 95 % limits"
        show={(rate) => `${units.number(rate * 100, 1)} %`}
        limits="Other things changed too while a revision was in use. The net difference takes off what other recipes did in the same time."
        rows={revisions.map((revision) => ({
          key: String(revision.number),
          title: `Revision ${revision.number}`,
          value: revision.rate,
          low: revision.rateLow,
          high: revision.rateHigh,
          shape: revision.piecesCount === 0n ? "empty" : "full",
        }))}
        numbers={{
          columns: [
            { words: "Revision" },
            { words: "First day" },
            { words: "Last day" },
            { words: "Pieces" },
            { words: "Reprints" },
            { words: "Rate", digits: 4 },
            { words: "Rate, low 95 %", digits: 4 },
            { words: "Rate, high 95 %", digits: 4 },
            { words: "Difference to the one before", digits: 4 },
            { words: "Difference, low 95 %", digits: 4 },
            { words: "Difference, high 95 %", digits: 4 },
            { words: "Net difference", digits: 4 },
          ],
          rows: revisions.map((r, at) => [
            r.number,
            r.firstDay,
            r.lastDay,
            r.piecesCount,
            r.reprintsCount,
            r.rate,
            r.rateLow,
            r.rateHigh,
            at === 0 ? null : r.difference,
            at === 0 ? null : r.differenceLow,
            at === 0 ? null : r.differenceHigh,
            at === 0 ? null : r.netDifference,
          ]),
        }}
      />
      <Part title="Each revision against the one before">
        <Table<RevisionRate>
          caption="Reprints per piece by revision"
          quietCaption
          rows={revisions}
          keyOf={(r) => String(r.number)}
          columns={[
            { key: "number", words: "Revision", heads: true, cell: (r) => String(r.number) },
            {
              key: "days",
              words: "In use",
              cell: (r) => `${showDayOf(r.firstDay, units.locale)} to ${showDayOf(r.lastDay, units.locale)}`,
            },
            { key: "pieces", words: "Pieces", figure: true, cell: (r) => units.count(r.piecesCount) },
            { key: "reprints", words: "Reprints", figure: true, cell: (r) => units.count(r.reprintsCount) },
            { key: "rate", words: "Per piece", figure: true, cell: (r) => percent(r.rate) },
            {
              key: "difference",
              words: "Difference, points (95 % limits)",
              figure: true,
              cell: (r) =>
                r === revisions[0]
                  ? "–"
                  : `${points(r.difference)} (${points(r.differenceLow)} to ${points(r.differenceHigh)})`,
            },
            {
              key: "net",
              words: "Net of other recipes",
              figure: true,
              cell: (r) => (r === revisions[0] ? "–" : points(r.netDifference)),
            },
          ]}
        />
        <p>{answer.method}</p>
      </Part>
    </>
  );
}
