import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { faultOf } from "../../app/fault.ts";
import { useUnits } from "../../kit/choices.ts";
import { Select, TextField } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { Figure, Figures, Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { PricesService, type QuoteLine } from "../../proto/evenpeel/prices/v1/prices_service_pb.ts";
import type { PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import { millimetres, partsPerMillion, seconds } from "../../units/quantities.ts";
import styles from "./Prices.module.css";

// A usual order to begin with; every number can be changed and stands in the address. Common practice, no source.
const usual = { length: 2_000, count: 20, designs: 1, cutting: 300, weeding: 900, pressing: 1_200 };

type UsualOrderProps = {
  list: PriceList;
  view: URLSearchParams;
  change: (changes: Record<string, string>) => void;
};

/** UsualOrder asks the service what an order comes to by this list. */
export function UsualOrder({ list, view, change }: UsualOrderProps) {
  const units = useUnits();
  // What was typed is asked as it is: the service says what is too much.
  const kept = (name: keyof typeof usual) => {
    const typed = Number(view.get(name) ?? usual[name]);
    return Number.isSafeInteger(typed) ? typed : usual[name];
  };
  const text = (name: "count" | "designs") => view.get(name) ?? String(usual[name]);
  const whole = (name: "count" | "designs") => (/^\d{1,15}$/.test(text(name)) ? BigInt(text(name)) : null);
  const [count, designs] = [whole("count"), whole("designs")];
  const film = list.filmPrices.find((price) => price.film === view.get("film")) ?? list.filmPrices[0];
  const garment = list.garments.find((one) => one.garment === view.get("garment"))?.garment ?? "";
  const quote = useQuery(
    PricesService.method.quote,
    {
      list,
      film: film ? [{ film: film.film, lengthMm: BigInt(kept("length")) }] : [],
      garments: [{ garment, count: count ?? 1n }],
      cuttingSeconds: BigInt(kept("cutting")),
      weedingSeconds: BigInt(kept("weeding")),
      pressingSeconds: BigInt(kept("pressing")),
      designsCount: designs ?? 0n,
    },
    { placeholderData: keepPreviousData, enabled: count !== null && designs !== null },
  );
  const answer = quote.data;
  const money = (minor: bigint) =>
    showMoney({ minor, currency: answer?.currencyCode || list.currencyCode }, units.locale);
  const quantity = (line: QuoteLine) => {
    switch (line.unit) {
      case "mm":
        return units.show("rollLength", millimetres(line.quantity));
      case "seconds":
        return units.show("duration", seconds(line.quantity));
      case "ppm":
        return units.show("share", partsPerMillion(line.quantity));
      default:
        return line.unit === "" ? "" : `${units.count(line.quantity)} ${line.unit}`;
    }
  };
  const time = (name: "cutting" | "weeding" | "pressing", words: string) => (
    <QuantityField
      label={words}
      quantity="duration"
      value={seconds(kept(name))}
      onChange={(value) => value !== null && change({ [name]: String(value) })}
    />
  );
  return (
    <Part title="What does a usual order cost?">
      <div className={styles.fields}>
        <QuantityField
          label={`Film drawn${film ? ` (${film.film})` : ""}`}
          quantity="rollLength"
          value={millimetres(kept("length"))}
          onChange={(value) => value !== null && change({ length: String(value) })}
        />
        <TextField
          label="Garments"
          inputMode="numeric"
          value={text("count")}
          onChange={(typed) => change({ count: typed })}
          {...(count === null ? { fault: "This must be a whole number." } : {})}
        />
        {list.garments.length > 0 && (
          <Select
            label="Which garment"
            none="The customer’s own"
            value={garment}
            options={list.garments.map((one) => ({ value: one.garment, words: one.title || one.garment }))}
            onChange={(code) => change({ garment: code })}
          />
        )}
        <TextField
          label="Designs and colours to set up"
          inputMode="numeric"
          value={text("designs")}
          onChange={(typed) => change({ designs: typed })}
          {...(designs === null ? { fault: "This must be a whole number." } : {})}
        />
        {time("cutting", "Cutting")}
        {time("weeding", "Weeding")}
        {time("pressing", "Pressing")}
      </div>
      {quote.error && (
        <Failure
          title="The order could not be priced"
          fault={faultOf(quote.error)}
          onRetry={() => void quote.refetch()}
          retrying={quote.isFetching}
        />
      )}
      {quote.isPending && <Loading what="the quote" />}
      {answer && !quote.error && (
        <>
          <Figures>
            <Figure words="The customer is asked for" number={money(answer.payableMinor)} />
            <Figure words="For one garment" number={money(answer.perGarmentMinor)} />
            {answer.costKnown && (
              <Figure
                words="Left after expected cost"
                number={money(answer.marginMinor)}
                note={`cost ${money(answer.costMinor)}`}
              />
            )}
          </Figures>
          {answer.hint && <Notice kind="info" title={answer.hint} />}
          <Table
            caption="How it adds up"
            rows={answer.lines}
            keyOf={(line) => `${line.key} ${line.words}`}
            columns={[
              { key: "words", words: "Line", heads: true, cell: (line) => line.words },
              { key: "quantity", words: "Quantity", figure: true, cell: quantity },
              { key: "amount", words: "Amount", figure: true, cell: (line) => money(line.amountMinor) },
            ]}
          />
          <p>
            Net {money(answer.netMinor)}, {answer.taxName || "tax"} {money(answer.taxMinor)}, gross{" "}
            {money(answer.grossMinor)}.
          </p>
        </>
      )}
    </Part>
  );
}
