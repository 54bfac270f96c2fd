import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { type Column, type Sort, Table } from "../../kit/Table.tsx";
import { Mark, Metric, type Standing } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { squareMillimetres } from "../../units/quantities.ts";
import { showDayOf } from "./view.ts";
import { markWords, signOf, titleOf } from "./words.ts";

type StandingTableProps = {
  metric: Metric;
  standings: readonly Standing[];
  sort: Sort;
  onSort: (sort: Sort) => void;
  /** Days and filters that the branch's own page keeps. */
  query: Record<string, string>;
};

/** StandingTable lists the branches by title until somebody asks for another order. */
export function StandingTable({ metric, standings, sort, onSort, query }: StandingTableProps) {
  const units = useUnits();
  const percent = (share: number) => `${units.number(share * 100, metric === Metric.YIELD ? 1 : 2)} %`;
  const columns: Column<Standing>[] = [
    {
      key: "title",
      words: "Branch",
      heads: true,
      sortBy: titleOf,
      cell: (s) =>
        s.branch === "" ? (
          titleOf(s)
        ) : (
          <Link href={withQuery(paths.branch(lastPart(s.branch)), query)}>{titleOf(s)}</Link>
        ),
    },
    {
      key: "mark",
      words: "How it stands",
      sortBy: (s) => markWords[s.mark],
      cell: (s) => (
        <>
          <span aria-hidden="true">{signOf(s.mark)} </span>
          {markWords[s.mark]}
          {s.neededCount > 0n && `: needs about ${units.count(s.neededCount)} more pieces`}
        </>
      ),
    },
    {
      key: "pieces",
      words: "Pieces",
      figure: true,
      sortBy: (s) => s.piecesCount,
      cell: (s) => units.count(s.piecesCount),
    },
    ...(metric === Metric.YIELD
      ? ([
          {
            key: "drawn",
            words: "Film drawn",
            figure: true,
            sortBy: (s) => s.drawnAreaMm2,
            cell: (s) => units.show("filmArea", squareMillimetres(s.drawnAreaMm2)),
          },
          {
            key: "decorated",
            words: "On good garments",
            figure: true,
            sortBy: (s) => s.decoratedAreaMm2,
            cell: (s) => units.show("filmArea", squareMillimetres(s.decoratedAreaMm2)),
          },
        ] satisfies Column<Standing>[])
      : ([
          {
            key: "reprints",
            words: "Reprints",
            figure: true,
            sortBy: (s) => s.reprintsCount,
            cell: (s) => units.count(s.reprintsCount),
          },
          {
            key: "expected",
            words: "Expected",
            figure: true,
            sortBy: (s) => s.expected,
            cell: (s) => units.number(s.expected, 1),
          },
        ] satisfies Column<Standing>[])),
    {
      key: "rate",
      words: metric === Metric.YIELD ? "Yield (95 % limits)" : "Per piece (95 % limits)",
      figure: true,
      sortBy: (s) => s.rate,
      cell: (s) =>
        s.mark === Mark.SILENT ? "–" : `${percent(s.rate)} (${percent(s.rateLow)} to ${percent(s.rateHigh)})`,
    },
    {
      key: "ratio",
      words: "Ratio to expected (95 % limits)",
      figure: true,
      sortBy: (s) => s.ratio,
      cell: (s) =>
        s.ratio === 0 && s.ratioHigh === 0
          ? "–"
          : `${units.number(s.ratio, 2)} (${units.number(s.ratioLow, 2)} to ${units.number(s.ratioHigh, 2)})`,
    },
    {
      key: "last",
      words: "Last report",
      sortBy: (s) => s.lastDay,
      cell: (s) => (s.lastDay === "" ? "none" : showDayOf(s.lastDay, units.locale)),
    },
  ];
  return (
    <Table
      caption="Branches"
      quietCaption
      columns={columns}
      rows={standings}
      keyOf={(s) => s.branch || titleOf(s) + String(standings.indexOf(s))}
      sort={sort}
      onSort={onSort}
      locale={units.locale}
      empty="No branch sent anything in these days."
    />
  );
}
