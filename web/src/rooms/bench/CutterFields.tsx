import { useUnits } from "../../kit/choices.ts";
import { Checkbox, TextField } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { QuantityField } from "../../kit/QuantityField.tsx";
import type { Machine } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { formatCount, formatNumber, parseNumber } from "../../units/numbers.ts";
import { type Micrometres, type Millimetres, micrometres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";

/** CutterProfile is how a cutter is written for, as it is being typed; null is not readable. */
export type CutterProfile = {
  bladeOffset: Micrometres | null;
  overcut: Micrometres | null;
  /** As typed. */
  units: string;
  longestCut: Millimetres | null;
  longNumbers: boolean;
};

/** unitLength is how long one plotter unit is, in words; the unit is the machine's own and is never shown in inches. */
export const unitLength = (unitsPerMetre: number, locale: string): string =>
  `${formatNumber(1000 / unitsPerMetre, locale, 5)} mm`;

export const profileOf = (machine: Machine): CutterProfile => ({
  bladeOffset: micrometres(machine.bladeOffsetUm),
  overcut: micrometres(machine.overcutUm),
  units: String(machine.unitsPerMetre),
  longestCut: machine.longestCutMm > 0n ? millimetres(machine.longestCutMm) : null,
  longNumbers: machine.longNumbers,
});

function unitsIn({ units }: CutterProfile, locale: string): number | null {
  const read = parseNumber(units, locale);
  return read.ok && Number.isInteger(read.value) && read.value > 0 ? read.value : null;
}

/** unreadable lists what of a profile can not be stored. */
export function unreadable(profile: CutterProfile, locale: string): FieldFault[] {
  const asked = [
    ["blade_offset_um", profile.bladeOffset, "Say the blade's offset; 0 where the blade does not drag."],
    ["overcut_um", profile.overcut, "Say the overcut; 0 is none."],
    [
      "units_per_metre",
      unitsIn(profile, locale),
      "Say how many plotter units a metre has, as a whole number.",
    ],
  ] as const;
  return asked.filter(([, value]) => value === null).map(([path, , words]) => ({ path, words }));
}

/** withProfile writes a profile into a machine. */
export function withProfile(machine: Machine, profile: CutterProfile, locale: string): void {
  machine.bladeOffsetUm = BigInt(profile.bladeOffset ?? 0);
  machine.overcutUm = BigInt(profile.overcut ?? 0);
  machine.unitsPerMetre = BigInt(unitsIn(profile, locale) ?? 0);
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
  const { locale } = useUnits();
  const units = unitsIn(profile, locale);
  const field = (
    key: "bladeOffset" | "overcut",
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
      allowed={{ low: micrometres(0), high: micrometres(high), reason }}
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
        <TextField
          label="Plotter units in a metre"
          hint={`Draw a long test line: its number of units by its length. ${units === null ? `${formatCount(40_000, locale)} is usual.` : `One unit is then ${unitLength(units, locale)}.`}`}
          inputMode="numeric"
          path="units_per_metre"
          fault={wordsFor(faults, "units_per_metre")}
          value={profile.units}
          onChange={(text) => onChange({ units: text })}
        />
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
