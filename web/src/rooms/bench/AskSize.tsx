import { useState } from "react";
import { Button } from "../../kit/Button.tsx";
import { Choice } from "../../kit/Field.tsx";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { type Millimetres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { noSize, type SaidSize } from "./useDrawing.ts";

const least = millimetres(1);
const most = millimetres(2000); // orders.v1 ReadDrawingRequest.width_um and height_um

// What files without a size of their own are usually drawn in. 0.025 mm: HP 7475A Interfacing and Programming Manual
// (1984), p. 2-5.
const fileUnits = {
  millimetre: { words: "Its numbers are millimetres", unitNm: 1_000_000 },
  inch: { words: "Its numbers are inches", unitNm: 25_400_000 },
  plotter: { words: "Its numbers are plotter units of 0.025 mm", unitNm: 25_000 },
} as const;
type FileUnit = keyof typeof fileUnits;
type Known = "width" | "height" | FileUnit;

type AskSizeProps = {
  reading: boolean;
  /** Whether the file's own unit would say it; SVG has one of its own. */
  unitHelps: boolean;
  onSize: (size: SaidSize) => void;
};

/** AskSize asks for what a file does not say: how wide or high its design is, or what its numbers stand for. */
export function AskSize({ reading, unitHelps, onSize }: AskSizeProps) {
  const [known, setKnown] = useState<Known>("width");
  const [length, setLength] = useState<Millimetres | null>(null);
  const [asked, setAsked] = useState(false);
  const side = known === "width" || known === "height" ? known : null;
  const word = side === "width" ? "wide" : "high";
  return (
    <form
      className={styles.step}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setAsked(true);
        if (side === null) onSize({ ...noSize, unitNm: fileUnits[known as FileUnit].unitNm });
        else if (length !== null && length >= least && length <= most)
          onSize({ ...noSize, [side === "width" ? "widthMm" : "heightMm"]: length });
      }}
    >
      <p>The file does not say how large its design is. A guessed size would be cut at that size.</p>
      <Choice<Known>
        label="What is known of it?"
        row
        value={known}
        options={[
          { value: "width", words: "How wide it is" },
          { value: "height", words: "How high it is" },
          ...(unitHelps
            ? (Object.keys(fileUnits) as FileUnit[]).map((value) => ({
                value,
                words: fileUnits[value].words,
              }))
            : []),
        ]}
        onChange={setKnown}
      />
      {side !== null && (
        <QuantityField
          label={`How ${word} is the design?`}
          quantity="length"
          value={length}
          fault={asked && length === null ? `Say how ${word} the design is.` : undefined}
          allowed={{ low: least, high: most, reason: "what can be read as one drawing" }}
          onChange={setLength}
        />
      )}
      <div>
        <Button type="submit" pending={reading} pendingWords="Reading…">
          {side === null ? "Read it in this unit" : `Read it this ${word}`}
        </Button>
      </div>
    </form>
  );
}
