import { useState } from "react";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { csvOf } from "../../kit/csv.ts";
import { Choice, TextField } from "../../kit/Field.tsx";
import { FileDrop } from "../../kit/FileDrop.tsx";
import { Notice } from "../../kit/Notice.tsx";
import { saveFile } from "../../kit/saving.ts";
import { Table } from "../../kit/Table.tsx";
import { Status } from "../../kit/Waiting.tsx";
import type { PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { shownAs } from "../../units/choice.ts";
import styles from "./Draft.module.css";
import { PriceChanges } from "./PriceChanges.tsx";
import { isChange, type Meeting, priceChanges, withRows } from "./priceChanges.ts";
import { columnsOf, type Grid, numbersOf, readRows, type Written } from "./priceRows.ts";
import { mostCharacters } from "./readCsv.ts";

type PriceGridProps = {
  list: PriceList;
  /** Called with the list as it would be, once the person accepts what is shown. */
  onAccept: (list: PriceList) => void;
};

/** PriceGrid takes prices out of a spreadsheet, shows what they would change, and gives them back as a file. */
export function PriceGrid({ list, onAccept }: PriceGridProps) {
  const units = useUnits();
  const [grid, setGrid] = useState<Grid>("films");
  const [meeting, setMeeting] = useState<Meeting>("change");
  const [text, setText] = useState("");
  const [file, setFile] = useState("");
  const [done, setDone] = useState("");
  const currency = /^[A-Z]{3}$/.test(list.currencyCode) ? list.currencyCode : "XXX";
  const written: Written = {
    currency,
    locale: units.locale,
    length: shownAs("rollLength", units.choice),
  };
  const names = columnsOf(grid, written).map(({ words }) => words);
  const { rows, faults } = readRows(grid, text, written);
  const next = withRows(list, grid, rows, meeting);
  const changed = priceChanges(grid, list, next).filter(isChange);
  const asked = text.trim() !== "";
  const stop =
    currency === "XXX"
      ? "Say the currency of the list first."
      : faults.length > 0
        ? `Mend ${faults.length === 1 ? "1 fault" : `${faults.length} faults`} first; nothing is taken over by half.`
        : changed.length === 0
          ? "It says what the list says already."
          : undefined;
  function take(words: string, name: string) {
    setText(words);
    setFile(name);
    setDone("");
  }
  function save() {
    const name = `prices-${list.market || "list"}-${grid}.csv`.toLowerCase();
    const csv = csvOf(numbersOf(grid, list, written), { locale: units.locale });
    saveFile(name, new Blob([csv], { type: "text/csv;charset=utf-8" }));
    setDone(`Saved ${name}.`);
  }
  return (
    <details className={styles.import}>
      <summary>Prices out of a spreadsheet, or into one</summary>
      <div className={styles.rows} data-own-undo>
        <Choice
          label="Which prices"
          row
          value={grid}
          options={[
            { value: "films", words: "films by length" },
            { value: "garments", words: "garments" },
          ]}
          onChange={(chosen) => setGrid(chosen as Grid)}
        />
        <TextField
          label="Rows pasted from a spreadsheet"
          hint={`Columns: ${names.join(", ")}. A heading may stand above them. Numbers as you write them: ${units.number(1234.5, 2)}.`}
          lines={Math.min(14, Math.max(4, text.split("\n").length))}
          value={text}
          onChange={(words) => take(words, "")}
        />
        <FileDrop
          label="Or a CSV file"
          accept=".csv,.tsv,.txt,text/csv"
          mostBytes={mostCharacters}
          chosen={file || undefined}
          onFile={(chosen) => void chosen.text().then((words) => take(words, chosen.name))}
        />
        <Choice
          label="What the list holds already"
          row
          value={meeting}
          options={[
            { value: "change", words: "stays, where no row names it" },
            { value: "replace", words: "goes, where no row names it" },
          ]}
          onChange={(chosen) => setMeeting(chosen as Meeting)}
        />
        {asked && faults.length > 0 && (
          <Table
            caption="What can not be taken over"
            rows={faults}
            keyOf={(fault) => `${fault.line} ${fault.column} ${fault.words}`}
            columns={[
              { key: "line", words: "Line", heads: true, cell: (fault) => fault.line || "all" },
              { key: "column", words: "Column", cell: (fault) => fault.column || "the row" },
              { key: "words", words: "What is wrong", cell: (fault) => fault.words },
            ]}
          />
        )}
        {asked && changed.length > 0 && (
          <PriceChanges caption="What would change" grid={grid} rows={changed} currency={currency} />
        )}
        {asked && (
          <Notice
            kind="info"
            title={`${rows.length} of ${rows.length + faultyLines(faults)} rows can be read.`}
          >
            <p>Nothing is in the draft before you accept. Undo takes it back as one step.</p>
          </Notice>
        )}
        <Actions>
          {asked && (
            <Button
              because={stop}
              onClick={() => {
                onAccept(next);
                take("", "");
                setDone(`${changed.length === 1 ? "1 price" : `${changed.length} prices`} taken over.`);
              }}
            >
              Take these prices over
            </Button>
          )}
          <Button onClick={save}>Save the prices as CSV</Button>
        </Actions>
        <Status>{done}</Status>
      </div>
    </details>
  );
}

const faultyLines = (faults: readonly { line: number }[]) => new Set(faults.map(({ line }) => line)).size;
