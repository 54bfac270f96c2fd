import { useUnits } from "../../kit/choices.ts";
import { type CycleStep, CycleTimeline } from "../../kit/drawings/CycleTimeline.tsx";
import { PressStack, type StackPart } from "../../kit/drawings/PressStack.tsx";
import { Peel, type Recipe } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { celsius, kilopascals, seconds } from "../../units/quantities.ts";
import styles from "./Pictures.module.css";

const peels: Record<Peel, string> = {
  [Peel.UNSPECIFIED]: "peel",
  [Peel.HOT]: "peel hot",
  [Peel.WARM]: "peel warm",
  [Peel.COLD]: "peel cold",
};

/** Which layer a changed field is drawn on. */
const layers: readonly [string, StackPart][] = [
  ["press_temperature_celsius", "platen"],
  ["cover_sheet", "cover"],
  ["film", "film"],
  ["fabric", "garment"],
  ["pressure_kpa", "pad"],
];

const within = (path: string, outer: string) => path === outer || path.startsWith(`${outer}.`);

/** cycleOf gives the press cycle in order; parts that take no time are left out. */
export function cycleOf(recipe: Recipe, changed: readonly string[] = []): CycleStep[] {
  const step = (words: string, length: bigint | undefined, kind: CycleStep["kind"], ...paths: string[]) => ({
    words,
    length: seconds(length ?? 0n),
    kind,
    changed: changed.some((path) => paths.some((own) => within(path, own))),
  });
  return [
    step("pre-press", recipe.prePressSeconds, "press", "pre_press_seconds"),
    step("dwell", recipe.dwellSeconds?.set, "dwell", "dwell_seconds"),
    step(`wait, ${peels[recipe.peel]}`, recipe.peelWaitSeconds, "wait", "peel_wait_seconds", "peel"),
    step("second press", recipe.secondPressSeconds, "press", "second_press_seconds"),
  ].filter((part) => part.length > 0 || part.changed);
}

type RecipePictureProps = { recipe: Recipe; changed?: readonly string[]; label: string };

/** RecipePicture shows the press stack and the cycle; what changed is drawn filled. */
export function RecipePicture({ recipe, changed = [], label }: RecipePictureProps) {
  const units = useUnits();
  const film = recipe.film?.title || recipe.film?.code || "film";
  return (
    <div className={styles.picture} data-whole>
      <PressStack
        closed
        words={{
          platen: `platen ${units.show("temperature", celsius(recipe.pressTemperatureCelsius?.set ?? 0n))}`,
          cover: "cover sheet",
          film,
          garment: recipe.fabric || "fabric",
          pad: `pad, ${units.show("pressure", kilopascals(recipe.pressureKpa?.set ?? 0n))}`,
        }}
        without={recipe.coverSheet ? [] : ["cover"]}
        marked={layers.filter(([own]) => changed.some((path) => within(path, own))).map(([, part]) => part)}
      />
      <CycleTimeline label={label} steps={cycleOf(recipe, changed)} />
    </div>
  );
}
