import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { faultOf } from "../../app/fault.ts";
import { Select } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import {
  type Drawing,
  type ListPlacementsResponse,
  OrdersService,
  type SizedDesign,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import styles from "./bench.module.css";
import { GradeWidths } from "./GradeWidths.tsx";
import { Placed } from "./Placed.tsx";
import { noKind, placesOn } from "./places.ts";
import type { Answer } from "./saved.ts";
import type { Wanted } from "./wanted.ts";

type PlacementFieldsProps = {
  branch: string;
  table: Answer<ListPlacementsResponse>;
  /** With its cut of garment and its place settled. */
  wanted: Wanted;
  drawing: Drawing | undefined;
  designs: SizedDesign[];
  onChange: (to: Partial<Wanted>) => void;
};

/** PlacementFields asks where on which garment the design goes, and shows it there. */
export function PlacementFields({ branch, table, wanted, drawing, designs, onChange }: PlacementFieldsProps) {
  const kind = wanted.garmentKind ?? noKind;
  const garment = table.data?.garmentKinds.find((one) => one.kind === kind);
  const on = placesOn(table.data, kind);
  const asks = garment !== undefined && designs.length > 0;
  const landed = useQuery(
    OrdersService.method.landDesign,
    { branch, garmentKind: kind, place: wanted.placement, designs },
    { enabled: asks, placeholderData: keepPreviousData },
  );
  return (
    <div className={styles.step}>
      {!table.data && table.fault && (
        <Failure
          fault={table.fault}
          title="The places on garments could not be loaded"
          onRetry={table.retry}
          retrying={table.retrying}
        />
      )}
      <div className={styles.fields}>
        <Select
          label="Cut of the garment"
          hint="What it is measured on."
          value={kind}
          options={[
            ...(table.data?.garmentKinds.map((one) => ({ value: one.kind, words: one.title })) ?? []),
            { value: noKind, words: "Another cut" },
          ]}
          onChange={(garmentKind) => onChange({ garmentKind })}
        />
        {on.length > 0 && (
          <Select
            label="Placement"
            value={wanted.placement}
            options={on.map(({ name, title }) => ({ value: name, words: title }))}
            onChange={(placement) => onChange({ placement })}
          />
        )}
      </div>
      <GradeWidths
        branch={branch}
        garment={garment}
        place={wanted.placement}
        sizes={wanted.sizes}
        drawing={drawing}
        onFill={(sizes) => onChange({ sizes })}
      />
      {table.data && !garment && (
        <Empty title="This cut has no outline here.">
          <p>It can still be planned; measure its place by hand.</p>
        </Empty>
      )}
      {garment && designs.length === 0 && (
        <Empty title="Nothing to place yet.">
          <p>Choose the drawing and name a size: {garment.sizes.map(({ name }) => name).join(", ")}.</p>
        </Empty>
      )}
      {asks && (
        <Placed
          answer={{
            data: landed.data,
            fault: landed.error ? faultOf(landed.error) : null,
            retry: () => void landed.refetch(),
            retrying: landed.isFetching,
          }}
          size={designs[0]?.size ?? ""}
          drawing={drawing}
        />
      )}
    </div>
  );
}
