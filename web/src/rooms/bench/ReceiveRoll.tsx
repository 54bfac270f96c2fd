import { useMutation } from "@connectrpc/connect-query";
import { useState } from "react";
import { useUnits } from "../../kit/choices.ts";
import { Checkbox, Select, TextField } from "../../kit/Field.tsx";
import { wordsFor } from "../../kit/fault.ts";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { uuid } from "../../kit/uuid.ts";
import { StockService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import type { Film } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { type Millimetres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { Frame, wrongIf } from "./RollForms.tsx";

type ReceiveRollProps = {
  branch: string;
  films: readonly Film[];
  /** Words of what was stored. */
  onStored: (words: string) => void;
};

/** ReceiveRoll takes a roll or remnant into stock; sending it twice stores it once. */
export function ReceiveRoll({ branch, films, onStored }: ReceiveRollProps) {
  const units = useUnits();
  const receive = useMutation(StockService.method.receiveRoll);
  const [id, setId] = useState(uuid);
  const [code, setCode] = useState("");
  const [colour, setColour] = useState("");
  const [lot, setLot] = useState("");
  const [place, setPlace] = useState("");
  const [width, setWidth] = useState<Millimetres | null>(null);
  const [length, setLength] = useState<Millimetres | null>(null);
  const [remnant, setRemnant] = useState(false);
  const film = films.find((candidate) => candidate.code === code);
  const asked = wrongIf(
    code === "" && { path: "film", words: "Choose the film." },
    colour === "" && { path: "colour", words: "Choose the colour." },
    (width === null || width < 1) && { path: "width_mm", words: "Say how wide the roll is." },
    (length === null || length < 1) && { path: "length_mm", words: "Say how long it is." },
  );

  async function send() {
    const roll = {
      film: code,
      colour,
      lot: lot.trim(),
      place: place.trim(),
      widthMm: BigInt(width ?? 0),
      lengthMm: BigInt(length ?? 0),
      remnant,
    };
    await receive.mutateAsync({ branch, roll, id });
    onStored(
      `Stored: ${film?.title ?? code}, ${colour}, ${units.show("rollLength", length ?? millimetres(0))}.`,
    );
    // The next roll of a delivery is mostly the same film; its length is measured anew.
    setId(uuid());
    setLength(null);
  }
  return (
    // The key begins the next roll without the complaints about this one.
    <Frame
      key={id}
      asked={asked}
      error={receive.error}
      failed="The roll was not stored"
      pending={receive.isPending}
      words="Take it in"
      onSend={send}
    >
      {(faults) => (
        <>
          <div className={styles.fields}>
            <Select
              label="Film"
              path="film"
              fault={wordsFor(faults, "film")}
              value={code}
              none="Choose a film"
              options={films.map(({ code: value, title }) => ({ value, words: title || value }))}
              onChange={(next) => {
                setCode(next);
                setColour("");
                const rollWidth = films.find((candidate) => candidate.code === next)?.rollWidthMm;
                if (rollWidth) setWidth(millimetres(rollWidth));
              }}
            />
            <Select
              label="Colour"
              path="colour"
              fault={wordsFor(faults, "colour")}
              value={colour}
              none={film ? "Choose a colour" : "Choose the film first"}
              options={(film?.colours ?? []).map((value) => ({ value, words: value }))}
              onChange={setColour}
            />
            <TextField
              label="Lot"
              hint="From the roll’s label."
              optional
              maxLength={60}
              value={lot}
              onChange={setLot}
            />
            <QuantityField
              label="Width"
              quantity="length"
              path="width_mm"
              fault={wordsFor(faults, "width_mm")}
              value={width}
              onChange={setWidth}
            />
            <QuantityField
              label="Length"
              quantity="rollLength"
              path="length_mm"
              fault={wordsFor(faults, "length_mm")}
              value={length}
              onChange={setLength}
            />
            <TextField
              label="Place"
              hint="Shelf or box."
              optional
              maxLength={60}
              value={place}
              onChange={setPlace}
            />
          </div>
          <Checkbox label="It is a left-over piece" checked={remnant} onChange={setRemnant} />
        </>
      )}
    </Frame>
  );
}
