// One step: its picture, its number, its cautions.
import { useUnits } from "../../kit/choices.ts";
import { FaultDrawing, faultWords } from "../../kit/drawings/FaultDrawing.tsx";
import { Garment, type GarmentKind } from "../../kit/drawings/Garment.tsx";
import { type HazardKind, Hazards } from "../../kit/drawings/Hazard.tsx";
import { Peel } from "../../kit/drawings/Peel.tsx";
import { PressStack } from "../../kit/drawings/PressStack.tsx";
import { Roll } from "../../kit/drawings/Roll.tsx";
import { Facts, Figure, Figures } from "../../kit/Screen.tsx";
import type { Layout, Order } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { showDuration } from "../../units/durations.ts";
import { seconds } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { peelOf } from "./cards.ts";
import { DialFigures } from "./DialFigures.tsx";
import { Placed } from "./Placed.tsx";
import { RollPicture, wholeMm } from "./RollPicture.tsx";
import type { StepKey } from "./stepList.ts";
import type { Landed } from "./useLanded.ts";

const cautions: Record<StepKey, readonly HazardKind[]> = {
  load: ["pinch", "blade"],
  "test-cut": ["blade"],
  cut: ["blade", "pinch"],
  weed: ["blade"],
  "pre-press": ["hot", "pinch"],
  place: ["hot"],
  press: ["hot", "pinch", "fumes"],
  peel: ["hot"],
  "second-press": ["hot", "pinch", "fumes"],
  check: [],
};

const childMonths = 168n;

function garmentKind(order: Order): GarmentKind {
  if (order.soldAs === "hoodie") return "hoodie";
  if (order.soldAs === "bag") return "bag";
  return order.ageMonths >= 0n && order.ageMonths < childMonths ? "childTee" : "tee";
}

type StepPictureProps = {
  step: StepKey;
  layout: Layout;
  order: Order;
  /** Where the design goes on the garment in hand. */
  landed: Landed;
};

/** StepPicture shows what this step is about. */
export function StepPicture({ step, layout, order, landed }: StepPictureProps) {
  return (
    <div className={styles.step}>
      <Inside step={step} layout={layout} order={order} landed={landed} />
      {cautions[step].length > 0 && <Hazards kinds={cautions[step]} />}
    </div>
  );
}

function Inside({ step, layout, order, landed }: StepPictureProps) {
  const units = useUnits();
  const card = layout.card;
  const without = card?.coverSheet ? [] : (["cover"] as const);
  switch (step) {
    case "load":
      return (
        <>
          <div className={styles.garment}>
            <Roll left={0.7} title="A roll of film" />
          </div>
          <Facts
            facts={[
              { words: "Film", value: `${layout.filmTitle}, ${layout.colour}` },
              { words: "Width", value: units.show("length", wholeMm(layout.rollWidthUm)) },
              {
                words: "Take from",
                value: layout.rollWords || layout.roll || "any roll that is long enough",
              },
              ...(order.lot === "" ? [] : [{ words: "Lot", value: order.lot }]),
            ]}
          />
          <p>Carrier down, the dull glue side up to the blade. Straight under both rollers.</p>
        </>
      );
    case "test-cut":
      return (
        <>
          {card && <DialFigures settings={card.cut} brief />}
          <div className={styles.wrongs}>
            <Wrong kind="cutTooShallow" />
            <Wrong kind="cutThroughCarrier" />
          </div>
          <p>
            Cut one small square. It must lift out clean, with only a faint line left on the carrier: neither
            of the two above.
          </p>
        </>
      );
    case "cut":
      return (
        <>
          <RollPicture layout={layout} name={`cut-${layout.film}-${layout.colour}`} />
          <p>
            About {showDuration(seconds(layout.cuttingSeconds))}. The cut file is mirrored already; send it as
            it is.
          </p>
        </>
      );
    case "weed":
      return (
        <>
          <Wrong kind="weedingTear" />
          <p>
            About {showDuration(seconds(layout.weedingSeconds))}. Pull the waste low and slowly, away from the
            design; take small inner pieces out first. Nothing may tear.
          </p>
        </>
      );
    case "pre-press":
      return (
        <>
          <PressStack hot closed marked={["garment"]} without={["film", "cover"]} />
          <p>
            The bare garment, flat, without seams or buttons under the platen: drives out damp and creases.
          </p>
        </>
      );
    case "place":
      return (
        <>
          {landed.enabled ? (
            <Placed answer={landed.answer} size={landed.size} />
          ) : (
            <>
              <div className={styles.garment}>
                <Garment kind={garmentKind(order)} />
              </div>
              <p>
                {order.lines[0]?.placement.replaceAll("-", " ") || "As ordered"}: measure from collar and
                middle fold.
              </p>
            </>
          )}
          <p>Carrier up, so that the design can now be read.</p>
        </>
      );
    case "press":
      return (
        <>
          <PressStack hot closed marked={["film"]} without={without} />
          {card && <DialFigures settings={card.pressSettings} brief />}
        </>
      );
    case "peel": {
      const peel = peelOf(card?.peel ?? "");
      return (
        <>
          {peel && (
            <div className={styles.peel}>
              <Peel kind={peel} />
            </div>
          )}
          <p>
            Peel {peel ?? "as the recipe says"}, low and even, back over itself. If the film lifts, lay it
            down and press again.
          </p>
        </>
      );
    }
    case "second-press":
      return (
        <>
          <PressStack hot closed marked={["cover", "film"]} />
          <Figures>
            <Figure words="Again for" number={String(card?.secondPressSeconds ?? 0n)} unit="s" />
          </Figures>
          <p>Without the carrier, under a cover sheet.</p>
        </>
      );
    case "check":
      return (
        <>
          <div className={styles.wrongs}>
            <Wrong kind="edgeLifts" />
            <Wrong kind="wrinkle" />
            <Wrong kind="scorch" />
          </div>
          <p>Run a fingernail along the edges once it is cold. None of these? Then it is good.</p>
        </>
      );
  }
}

function Wrong({ kind }: { kind: Parameters<typeof FaultDrawing>[0]["kind"] }) {
  return (
    <figure className={styles.garment}>
      <FaultDrawing kind={kind} />
      <figcaption>Not so: {faultWords[kind]}</figcaption>
    </figure>
  );
}
