import { Checkbox } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { QuantityField } from "../../kit/QuantityField.tsx";
import type { Machine } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Micrometres, type Millimetres, micrometres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";

/** CutterProfile is how a cutter is written for; null is not readable. */
export type CutterProfile = {
  bladeOffset: Micrometres | null;
  overcut: Micrometres | null;
  unit: Micrometres | null;
  longestCut: Millimetres | null;
  longNumbers: boolean;
};

const metre = 1_000_000; // micrometres

/** The length of one plotter unit; a machine without one is shown as the usual 0.025 mm. */
export const unitOfCutter = ({ unitsPerMetre }: Machine): Micrometres =>
  micrometres(unitsPerMetre > 0n ? Math.round(metre / Number(unitsPerMetre)) : 25);

export const profileOf = (machine: Machine): CutterProfile => ({
  bladeOffset: micrometres(machine.bladeOffsetUm),
  overcut: micrometres(machine.overcutUm),
  unit: unitOfCutter(machine),
  longestCut: machine.longestCutMm > 0n ? millimetres(machine.longestCutMm) : null,
  longNumbers: machine.longNumbers,
});

/** unreadable lists what of a profile can not be stored. */
export function unreadable(profile: CutterProfile): FieldFault[] {
  const asked = [
    ["blade_offset_um", profile.bladeOffset, "Say the blade's offset; 0 where the blade does not drag."],
    ["overcut_um", profile.overcut, "Say the overcut; 0 is none."],
    ["units_per_metre", profile.unit, "Say how long one step of the cutter is."],
  ] as const;
  return asked.filter(([, value]) => value === null).map(([path, , words]) => ({ path, words }));
}

/** withProfile writes a profile into a machine. A unit that was not touched keeps its exact number. */
export function withProfile(machine: Machine, profile: CutterProfile): void {
  machine.bladeOffsetUm = BigInt(profile.bladeOffset ?? 0);
  machine.overcutUm = BigInt(profile.overcut ?? 0);
  if (profile.unit !== null && profile.unit !== unitOfCutter(machine))
    machine.unitsPerMetre = BigInt(Math.round(metre / profile.unit));
  machine.longestCutMm = BigInt(profile.longestCut ?? 0);
  machine.longNumbers = profile.longNumbers;
}

type CutterFieldsProps = {
  profile: CutterProfile;
  faults: readonly FieldFault[];
  onChange: (to: Partial<CutterProfile>) => void;
};

/** CutterFields asks how cut files are written for a cutter. */
export function CutterFields({ profile, faults, onChange }: CutterFieldsProps) {
  const field = (
    key: "bladeOffset" | "overcut" | "unit",
    path: string,
    label: string,
    hint: string,
    high: number,
    reason: string,
  ) => (
    <QuantityField
      label={label}
      hint={hint}
      quantity="fineLength"
      path={path}
      fault={wordsFor(faults, path)}
      value={profile[key]}
      allowed={{ low: micrometres(key === "unit" ? 1 : 0), high: micrometres(high), reason }}
      onChange={(value) => onChange({ [key]: value })}
    />
  );
  return (
    <fieldset className={styles.dial}>
      <legend>
        <b>How cut files are written</b>
      </legend>
      <div className={styles.fields}>
        {field(
          "bladeOffset",
          "blade_offset_um",
          "Blade offset",
          "From the swivel to the tip. 0 leaves it to the machine.",
          2000,
          "what drag blades have",
        )}
        {field(
          "overcut",
          "overcut_um",
          "Overcut",
          "How far past its start an outline is cut; usually twice the offset.",
          5000,
          "what a corner can need",
        )}
        {field(
          "unit",
          "units_per_metre",
          "Length of one plotter unit",
          "Measure a long test line: its length by its number of units.",
          1000,
          "what plotters step by",
        )}
        <QuantityField
          label="Longest cut"
          hint="Empty is no limit. Plans are cut into parts no longer than this."
          quantity="length"
          optional
          path="longest_cut_mm"
          fault={wordsFor(faults, "longest_cut_mm")}
          value={profile.longestCut}
          allowed={{
            low: millimetres(100),
            high: millimetres(100_000),
            reason: "what a cutter feeds at once",
          }}
          onChange={(longestCut) => onChange({ longestCut })}
        />
      </div>
      <Checkbox
        label="It reads the long numbers of HP-GL/2"
        hint="Its manual says so. Without them an HP-GL file ends at 32767 units, which is 819 mm at 0.025 mm."
        path="long_numbers"
        checked={profile.longNumbers}
        onChange={(longNumbers) => onChange({ longNumbers })}
      />
    </fieldset>
  );
}
