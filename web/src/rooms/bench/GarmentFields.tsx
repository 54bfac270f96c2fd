import { useUnits } from "../../kit/choices.ts";
import { Choice, Select, TextField } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { QuantityField } from "../../kit/QuantityField.tsx";
import type { Machine } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import type { GarmentPrice } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { gramsPerSquareMetre } from "../../units/quantities.ts";
import { soldAsText } from "../../units/soldAs.ts";
import styles from "./bench.module.css";
import { ages, ownerships, soldAsWords, type Wanted } from "./wanted.ts";

const customersOwn = "customers-own"; // a value for the choice only; the order holds an empty code

type GarmentFieldsProps = {
  wanted: Wanted;
  garments: readonly GarmentPrice[];
  cutters: readonly Machine[];
  presses: readonly Machine[];
  faults: readonly FieldFault[];
  onChange: (to: Partial<Wanted>) => void;
};

/** GarmentFields asks what is decorated, for whom it is, and on which machines. */
export function GarmentFields({ wanted, garments, cutters, presses, faults, onChange }: GarmentFieldsProps) {
  const units = useUnits();
  const machine = (label: string, path: "cutter" | "press", list: readonly Machine[]) => {
    const options = list.map(({ name, title }) => ({ value: name, words: title }));
    const known = options.some(({ value }) => value === wanted[path]);
    if (options.length === 1 && known) return null; // nothing to choose
    return (
      <Choice
        label={label}
        path={path}
        fault={wordsFor(faults, path)}
        value={wanted[path]}
        options={options}
        onChange={(name) => onChange({ [path]: name })}
      />
    );
  };
  return (
    <>
      <div className={styles.fields}>
        <Select
          label="Garment"
          value={wanted.garment === "" ? customersOwn : wanted.garment}
          options={[
            { value: customersOwn, words: "The customer's own" },
            ...garments.map(({ garment, title }) => ({ value: garment, words: title || garment })),
          ]}
          onChange={(chosen) =>
            chosen === customersOwn
              ? onChange({ garment: "", ownership: "customer-own-use" })
              : onChange({ garment: chosen, ownership: "stock" })
          }
        />
        <Select
          label="Sold as"
          hint="What it is sold as decides which rules hold."
          value={wanted.soldAs}
          options={soldAsWords.map((value) => ({
            value: value as string,
            words: soldAsText(value),
          }))}
          onChange={(soldAs) => onChange({ soldAs })}
        />
        <Select
          label="For which ages?"
          hint="The youngest that it is sold for."
          value={wanted.ageMonths}
          options={ages.map(({ value, words }) => ({ value: value as string, words }))}
          onChange={(ageMonths) => onChange({ ageMonths })}
        />
        <Select
          label="Whose garment?"
          value={wanted.ownership}
          options={ownerships.map(({ value, words }) => ({ value: value as string, words }))}
          onChange={(ownership) => onChange({ ownership })}
        />
        {machine("Cutter", "cutter", cutters)}
        {machine("Press", "press", presses)}
      </div>
      <details className={styles.more}>
        <summary>Name, lot, weight of the cloth</summary>
        <div className={styles.fields}>
          <TextField
            label="Name of the order"
            optional
            maxLength={200}
            value={wanted.title}
            onChange={(title) => onChange({ title })}
          />
          <TextField
            label="Film lot"
            hint="From the roll's label; certificates may hold for some lots only."
            optional
            maxLength={60}
            value={wanted.lot}
            onChange={(lot) => onChange({ lot })}
          />
          <QuantityField
            label="Weight of the cloth"
            hint={`Some rules ask; ${units.show("areaMass", gramsPerSquareMetre(180))} is a usual T-shirt.`}
            quantity="areaMass"
            optional
            value={wanted.fabricGrams === null ? null : gramsPerSquareMetre(wanted.fabricGrams)}
            onChange={(fabricGrams) => onChange({ fabricGrams })}
          />
        </div>
      </details>
    </>
  );
}
