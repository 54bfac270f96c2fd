import type { ReactNode } from "react";
import { useUnits } from "../../kit/choices.ts";
import { ChildGarmentNotice } from "../../kit/drawings/Hazard.tsx";
import { Notice } from "../../kit/Notice.tsx";
import { Facts, Figure, Figures, Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Layout, Order, Plan } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import type { QuoteLine } from "../../proto/evenpeel/prices/v1/prices_service_pb.ts";
import { showDuration } from "../../units/durations.ts";
import { showMoney } from "../../units/money.ts";
import { formatNumber } from "../../units/numbers.ts";
import { millimetres, type Seconds, seconds } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { RollPicture, wholeMm } from "./RollPicture.tsx";
import { Verdict } from "./Verdict.tsx";

const childMonths = 168; // under 14 years; the widest age in the rules this service knows of for clothing cords

/** PlanView shows an order worked out: how it lies, film, minutes, price, papers, care. */
type PlanViewProps = {
  plan: Plan;
  order: Order;
  /** Draws one film in place of the plain picture, while the plan is still being made. */
  desk?: (layout: Layout, at: number) => ReactNode;
};

export function PlanView({ plan, order, desk }: PlanViewProps) {
  const units = useUnits();
  const length = plan.layouts.reduce((sum, layout) => sum + layout.lengthUm, 0n);
  const sum = (of: "cuttingSeconds" | "weedingSeconds"): Seconds =>
    seconds(plan.layouts.reduce((total, layout) => total + layout[of], 0n));
  const quote = plan.quote?.currencyCode ? plan.quote : undefined; // no list in force, no price
  const money = (minor: bigint) =>
    quote ? showMoney({ minor, currency: quote.currencyCode }, units.locale) : "–";
  const film = units.parts("rollLength", wholeMm(length));
  return (
    <>
      {plan.blocks.length > 0 && (
        <Notice kind="block" title="This order can not go on as it is.">
          {plan.blocks.map((words) => (
            <p key={words}>{words}</p>
          ))}
        </Notice>
      )}
      {order.ageMonths >= 0n && order.ageMonths < childMonths && <ChildGarmentNotice />}
      {plan.layouts.map((layout, at) => (
        <div key={`${layout.film} ${layout.colour}`} className={styles.step}>
          {desk ? (
            desk(layout, at)
          ) : (
            <RollPicture layout={layout} name={`roll-${at + 1}-${layout.film}-${layout.colour}`} />
          )}
          <Facts
            facts={[
              ...takenFrom(layout),
              { words: "Blade cuts", value: units.show("rollLength", millimetres(layout.cutLengthMm)) },
              {
                words: "Blade up",
                value: `${units.show("rollLength", millimetres(layout.travelMm))}, ${units.show("rollLength", millimetres(layout.travelUnorderedMm))} before it was ordered`,
              },
            ]}
          />
        </div>
      ))}
      <Figures>
        <Figure words="Film" number={film.number} unit={film.symbol} />
        <Figure words="Cut" number={minutes(sum("cuttingSeconds"), units.locale)} unit="min" />
        <Figure words="Weed" number={minutes(sum("weedingSeconds"), units.locale)} unit="min" />
        <Figure words="Press" number={minutes(seconds(plan.pressingSeconds), units.locale)} unit="min" />
      </Figures>
      {quote && (
        <Part title={`Ask for ${money(quote.payableMinor)}`}>
          <p>
            {money(quote.perGarmentMinor)} a garment, {plan.garmentsCount.toString()} garments.
          </p>
          {quote.hint && <Notice kind="info" title={quote.hint} />}
          <details className={styles.more}>
            <summary>How the price is made</summary>
            <Table
              caption="Lines of the price"
              quietCaption
              rows={quote.lines}
              keyOf={(line) => `${line.key} ${line.words}`}
              columns={[
                { key: "words", words: "What", heads: true, cell: (line) => line.words },
                {
                  key: "quantity",
                  words: "How much",
                  figure: true,
                  cell: (line) => quantityWords(line, units.locale),
                },
                { key: "amount", words: "Amount", figure: true, cell: (line) => money(line.amountMinor) },
              ]}
            />
            <Facts
              facts={[
                { words: "Net", value: money(quote.netMinor) },
                { words: quote.taxName || "Tax", value: money(quote.taxMinor) },
                { words: "Gross", value: money(quote.grossMinor) },
                ...(quote.costKnown ? [{ words: "Expected margin", value: money(quote.marginMinor) }] : []),
              ]}
            />
          </details>
        </Part>
      )}
      {plan.verdict && <Verdict verdict={plan.verdict} />}
      {plan.careWords !== "" && (
        <Part title="Care label">
          <ul className={styles.advice}>
            {plan.careWords.split("\n").map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ul>
          <p>
            <small>
              The gentler of garment and film on each line, in words only. The garment maker's own label comes
              first.
            </small>
          </p>
        </Part>
      )}
    </>
  );
}

/** takenFrom says which rolls and remnants to take, in the order of cutting. */
function takenFrom(layout: Layout): { words: string; value: string }[] {
  const cuts = layout.cuts.length > 0 ? layout.cuts : [layout];
  return cuts.map((cut, at) => ({
    words: cuts.length === 1 ? "Take from" : `Cut ${at + 1} from`,
    value: cut.roll === "" ? "no roll in stock is long enough" : cut.rollWords || cut.roll,
  }));
}

/** minutes writes whole minutes, rounded up: a plan that is too short is no help. */
export const minutes = (time: Seconds, locale: string): string => formatNumber(Math.ceil(time / 60), locale);

function quantityWords(line: QuoteLine, locale: string): string {
  switch (line.unit) {
    case "mm":
      return `${formatNumber(Number(line.quantity) / 1000, locale, 2)}\u00a0m`;
    case "pieces":
      return formatNumber(Number(line.quantity), locale);
    case "seconds":
      return showDuration(seconds(line.quantity));
    case "ppm":
      return `${formatNumber(Number(line.quantity) / 10_000, locale, 1)}\u00a0%`;
    default:
      return "";
  }
}
