import { useUnits } from "../../kit/choices.ts";
import { type CompareBranchesResponse, Mark } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { IntervalRows } from "./IntervalRows.tsx";
import { standingNumbers } from "./standingNumbers.ts";
import { shapeOf, titleOf } from "./words.ts";

type YieldRowsProps = {
  answer: CompareBranchesResponse;
  /** Whether the difference in work is allowed for: then the ratio to what the work would give is drawn. */
  mixAdjusted: boolean;
  name: string;
};

/** YieldRows draws the yield of every branch that sent something, by title. */
export function YieldRows({ answer, mixAdjusted, name }: YieldRowsProps) {
  const units = useUnits();
  const drawn = answer.standings.filter((standing) => standing.mark !== Mark.SILENT);
  // Where no plan says what the work needed there is no ratio, and the yield as recorded is all there is.
  const byRatio = mixAdjusted && drawn.some((standing) => standing.ratio > 0);
  const percent = (share: number) => `${units.number(share * 100, 1)} %`;
  const ratio = (value: number) => units.number(value, 2);
  return (
    <IntervalRows
      finding={answer.finding}
      name={name}
      numbers={standingNumbers(answer.standings)}
      limits={answer.caveat}
      axis={byRatio ? "Yield ÷ what this work would give" : "Yield as recorded"}
      show={byRatio ? ratio : percent}
      centre={
        byRatio
          ? { value: 1, words: "all branches" }
          : { value: answer.overall, words: `all branches ${percent(answer.overall)}` }
      }
      rows={drawn.map((standing, at) => ({
        key: standing.branch || String(at),
        title: titleOf(standing),
        value: byRatio ? standing.ratio : standing.rate,
        low: byRatio ? standing.ratioLow : standing.rateLow,
        high: byRatio ? standing.ratioHigh : standing.rateHigh,
        shape: shapeOf(standing.mark),
      }))}
    />
  );
}
