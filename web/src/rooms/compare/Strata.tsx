import { Link } from "wouter";
import { paths } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import type { StratumRate } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { IntervalRows } from "./IntervalRows.tsx";

/** titleOf names the film only where not all are of one film. */
const titleOf = ({ film, fabric }: StratumRate) => (film === "" ? fabric : `${film}, ${fabric}`);

const few = 3; // named in the finding; the picture names all
const listed = (titles: readonly string[]) =>
  titles.slice(0, few).join("; ") + (titles.length > few ? `; and ${titles.length - few} more` : "");

/** findingOf says which film on which fabric stands out. */
export function findingOf(strata: readonly StratumRate[]): string {
  const high = strata.filter((stratum) => stratum.ratioLow > 1).map(titleOf);
  const low = strata.filter((stratum) => stratum.ratioHigh < 1).map(titleOf);
  const said = [
    high.length > 0 && `more reprints than expected with ${listed(high)}`,
    low.length > 0 && `fewer reprints than expected with ${listed(low)}`,
  ].filter((part) => part !== false);
  const words = said.join(", ") || "no film and fabric lies outside its limits";
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Strata draws the films and fabrics that stand out at one branch. */
export function Strata({ strata, name }: { strata: readonly StratumRate[]; name: string }) {
  const units = useUnits();
  const films = [...new Set(strata.map(({ film }) => film))].filter((film) => film !== "");
  return (
    <IntervalRows
      finding={findingOf(strata)}
      name={name}
      axis="Reprints ÷ expected, 95 % limits"
      show={(value) => units.number(value, 1)}
      centre={{ value: 1, words: "as expected" }}
      limits="Some of many pairs stand out by chance alone."
      below={
        films.length > 0 && (
          <p>
            Look into a film:{" "}
            {films.map((film, at) => (
              <span key={film}>
                {at > 0 && ", "}
                <Link href={paths.film(film)}>{film}</Link>
              </span>
            ))}
            .
          </p>
        )
      }
      rows={strata.map((stratum) => ({
        key: titleOf(stratum),
        title: titleOf(stratum),
        value: stratum.ratio,
        low: stratum.ratioLow,
        high: stratum.ratioHigh,
        shape: stratum.ratioLow > 1 ? "up" : stratum.ratioHigh < 1 ? "down" : "full",
      }))}
      numbers={{
        columns: [
          { words: "Film" },
          { words: "Fabric" },
          { words: "Pieces" },
          { words: "Reprints" },
          { words: "Ratio to expected", digits: 2 },
          { words: "Low 95 %", digits: 2 },
          { words: "High 95 %", digits: 2 },
        ],
        rows: strata.map((s) => [
          s.film,
          s.fabric,
          s.piecesCount,
          s.reprintsCount,
          s.ratio,
          s.ratioLow,
          s.ratioHigh,
        ]),
      }}
    />
  );
}
