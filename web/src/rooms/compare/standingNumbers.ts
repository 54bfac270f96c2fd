// The numbers behind a picture of branches.
import type { Numbers } from "../../kit/csv.ts";
import type { Standing } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { markWords, titleOf } from "./words.ts";

/** standingNumbers lists every branch, silent ones too, by title. Areas are whole square millimetres. */
export function standingNumbers(standings: readonly Standing[]): Numbers {
  return {
    columns: [
      { words: "Branch" },
      { words: "How it stands" },
      { words: "Pieces" },
      { words: "Reprints" },
      { words: "Film drawn (mm²)" },
      { words: "Film on good garments (mm²)" },
      { words: "Rate", digits: 4 },
      { words: "Rate, low 95 %", digits: 4 },
      { words: "Rate, high 95 %", digits: 4 },
      { words: "Expected", digits: 2 },
      { words: "Ratio to expected", digits: 3 },
      { words: "Ratio, low 95 %", digits: 3 },
      { words: "Ratio, high 95 %", digits: 3 },
      { words: "Ratio drawn towards 1", digits: 3 },
      { words: "p, adjusted", digits: 4 },
      { words: "Pieces needed to tell" },
      { words: "Last day reported" },
    ],
    rows: standings.map((s) => [
      titleOf(s),
      markWords[s.mark],
      s.piecesCount,
      s.reprintsCount,
      s.drawnAreaMm2,
      s.decoratedAreaMm2,
      s.rate,
      s.rateLow,
      s.rateHigh,
      s.expected,
      s.ratio,
      s.ratioLow,
      s.ratioHigh,
      s.shrunk,
      s.pAdjusted,
      s.neededCount === 0n ? null : s.neededCount,
      s.lastDay,
    ]),
  };
}
