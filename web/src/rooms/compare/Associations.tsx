// Associations says what goes together with reprints, findings first. Nothing here is called a reason.
import { useState } from "react";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Table } from "../../kit/Table.tsx";
import type { Association, FindCausesResponse } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { IntervalRows } from "./IntervalRows.tsx";
import { causeWords } from "./words.ts";

const most = 20; // rows of the picture, and of the table before all are asked for
const spoken = 5; // findings said as a sentence under the picture

const keyOf = (a: Association) => [a.cause, a.factor, a.level, a.withFactor, a.withLevel].join("|");

/** levelOf names what goes together: "Tanner Row", "lot B7 with velvet". */
function levelOf(a: Association): string {
  const name = a.factor === "band" ? `${a.level} designs` : a.title || a.level;
  return a.withFactor === "" ? name : `${name} with ${a.withTitle || a.withLevel}`;
}

const causeOf = (a: Association) => (a.cause === "" ? "All causes" : causeWords(a.cause));

export function Associations({ answer, name }: { answer: FindCausesResponse; name: string }) {
  const units = useUnits();
  const [all, setAll] = useState(false);
  const found = answer.associations.filter(({ discovery }) => discovery);
  const percent = (share: number) => `${units.number(share * 100, 2)} %`;
  const ratio = (value: number) => (Number.isFinite(value) ? units.number(value, 2) : "unknown");
  if (answer.associations.length === 0)
    return <p>Nothing was worked often enough to say what goes together with reprints.</p>;
  return (
    <>
      {found.length > 0 ? (
        <IntervalRows
          finding={`${found.length} of ${answer.testedCount} things looked at go together with reprints beyond chance`}
          name={name}
          axis="Times what the other work explains, 95 % limits"
          show={(value) => units.number(value, 1)}
          centre={{ value: 1, words: "as explained" }}
          limits={answer.caveat}
          rows={found.slice(0, most).map((a) => ({
            key: keyOf(a),
            title: a.cause === "" ? levelOf(a) : `${levelOf(a)}: ${causeOf(a).toLowerCase()}`,
            value: a.ratio,
            low: a.ratioLow,
            high: a.ratioHigh,
            shape: a.ratio > 1 ? "up" : "down",
          }))}
          numbers={{
            columns: [
              { words: "Cause" },
              { words: "Factor" },
              { words: "Which" },
              { words: "Pieces" },
              { words: "Reprints" },
              { words: "Expected", digits: 1 },
              { words: "Ratio", digits: 2 },
              { words: "Low 95 %", digits: 2 },
              { words: "High 95 %", digits: 2 },
              { words: "p, adjusted", digits: 4 },
            ],
            rows: answer.associations.map((a) => [
              causeOf(a),
              a.factor,
              levelOf(a),
              a.piecesCount,
              a.count,
              a.expected,
              a.ratio,
              a.ratioLow,
              a.ratioHigh,
              a.pAdjusted,
            ]),
          }}
          below={
            <ul>
              {found.slice(0, spoken).map((a) => (
                <li key={keyOf(a)}>{a.sentence}</li>
              ))}
            </ul>
          }
        />
      ) : (
        <p>
          {units.count(BigInt(answer.testedCount))} things were looked at; none goes together with reprints
          beyond chance. {answer.caveat}
        </p>
      )}
      <Table<Association>
        caption="What was looked at, findings first"
        rows={all ? answer.associations : answer.associations.slice(0, most)}
        keyOf={keyOf}
        locale={units.locale}
        marked={({ discovery }) => discovery}
        columns={[
          { key: "which", words: "Which", heads: true, sortBy: levelOf, cell: levelOf },
          { key: "factor", words: "Factor", sortBy: (a) => a.factor, cell: (a) => a.factor },
          { key: "cause", words: "Cause", sortBy: causeOf, cell: causeOf },
          {
            key: "rate",
            words: "Per piece",
            figure: true,
            sortBy: (a) => a.rate,
            cell: (a) => `${units.count(a.count)} in ${units.count(a.piecesCount)}, ${percent(a.rate)}`,
          },
          {
            key: "ratio",
            words: "Times what the other work explains",
            figure: true,
            sortBy: (a) => a.ratio,
            cell: (a) => `${ratio(a.ratio)} (${ratio(a.ratioLow)} to ${ratio(a.ratioHigh)})`,
          },
          {
            key: "finding",
            words: "Beyond chance",
            sortBy: (a) => a.pAdjusted,
            cell: (a) => (a.discovery ? "yes" : "no"),
          },
        ]}
      />
      {!all && answer.associations.length > most && (
        <Actions>
          <Button onClick={() => setAll(true)}>
            Show all {units.count(BigInt(answer.associations.length))}
          </Button>
        </Actions>
      )}
    </>
  );
}
