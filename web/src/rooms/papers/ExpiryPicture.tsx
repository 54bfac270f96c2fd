import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { showDay } from "../../units/durations.ts";
import type { Paper } from "./usePapers.ts";
import { dayMs, instantOf, validityOf, validityWords } from "./validity.ts";

const rowPx = 30;

type ExpiryPictureProps = {
  records: readonly RecordSummary[];
  papers: ReadonlyMap<string, Paper>;
  now: number;
};

/** ExpiryPicture draws a bar for each certificate from its first to its last day, with today across them. */
export function ExpiryPicture({ records, papers, now }: ExpiryPictureProps) {
  const { locale } = useUnits();
  const rows = records
    .flatMap((record) => {
      const paper = papers.get(record.record);
      if (paper?.case !== "certificate") return [];
      const { value } = paper;
      const words = `${value.scheme} ${value.film || value.garment}`.trim();
      return [
        {
          key: record.record,
          words: words.length > 26 ? `${words.slice(0, 25)}…` : words,
          number: value.number,
          from: instantOf(value.validFrom),
          until: instantOf(value.validUntil),
          fromDay: value.validFrom,
          untilDay: value.validUntil,
          validity: validityOf(value, now),
        },
      ];
    })
    .toSorted((a, b) => (a.until ?? Number.POSITIVE_INFINITY) - (b.until ?? Number.POSITIVE_INFINITY));
  if (rows.length === 0) return null;
  const soon = rows.filter((row) => row.validity.state === "ends soon").length;
  const ended = rows.filter((row) => row.validity.state === "ended").length;
  const begin = Math.min(now - 180 * dayMs, ...rows.map((row) => row.from ?? now));
  const end = Math.max(now + 365 * dayMs, ...rows.map((row) => row.until ?? now));
  return (
    <Picture
      finding={findingOf(rows.length, ended, soon)}
      name="certificates"
      height={() => rows.length * rowPx + 64}
      labels={{ left: rows.map((row) => row.words) }}
      limits="Days are counted in UTC. Whether a paper is needed depends on market, age and garment: see the judgement below."
      numbers={{
        columns: [
          { words: "Certificate" },
          { words: "Number" },
          { words: "First day" },
          { words: "Last day" },
          { words: "Standing" },
        ],
        rows: rows.map((row) => [
          row.words,
          row.number,
          row.fromDay,
          row.untilDay || "open",
          validityWords(row.validity),
        ]),
      }}
      below={
        <small>Filled: holds. Striped: ends soon or ended. An arrow: open end. The line is today.</small>
      }
    >
      {(box) => {
        const x = (at: number) => (box.width * (at - begin)) / (end - begin);
        return (
          <>
            <defs>
              <pattern
                id="ending"
                width="7"
                height="7"
                patternUnits="userSpaceOnUse"
                patternTransform="rotate(45)"
              >
                <rect width="7" height="7" fill="var(--ground)" />
                <rect width="3" height="7" fill="var(--hot)" />
              </pattern>
            </defs>
            {rows.map((row, at) => {
              const open = row.until === null;
              const [from, until] = [x(row.from ?? begin), open ? box.width : x(row.until ?? end)];
              const ending = row.validity.state === "ends soon" || row.validity.state === "ended";
              return (
                <g key={row.key} transform={`translate(0 ${at * rowPx})`}>
                  <text x={-8} y={rowPx / 2 + 5} textAnchor="end">
                    {row.words}
                  </text>
                  <rect
                    x={from}
                    y={8}
                    width={Math.max(2, until - from - (open ? 8 : 0))}
                    height={rowPx - 16}
                    fill={ending ? "url(#ending)" : "var(--shade)"}
                    stroke={ending ? "var(--hot)" : "var(--ink)"}
                    strokeWidth={1.75}
                  />
                  {open && (
                    <path d={`M${until - 8} 4l8 ${rowPx / 2 - 4}l-8 ${rowPx / 2 - 4}Z`} fill="var(--ink)" />
                  )}
                </g>
              );
            })}
            <path d={`M${x(now)} 0V${box.height}`} stroke="var(--ink)" strokeWidth={2.5} />
            <text x={x(now)} y={box.height + 18} textAnchor="middle">
              today, {showDay(now, locale)}
            </text>
          </>
        );
      }}
    </Picture>
  );
}

function findingOf(all: number, ended: number, soon: number): string {
  const of = all === 1 ? "the only certificate" : `${all} certificates`;
  if (ended + soon === 0)
    return all === 1 ? "The only certificate does not end soon" : `None of ${of} ends soon`;
  const parts = [soon > 0 ? `${soon} ends soon` : "", ended > 0 ? `${ended} ended` : ""].filter(Boolean);
  return `Of ${of}, ${parts.join(" and ")}`;
}
