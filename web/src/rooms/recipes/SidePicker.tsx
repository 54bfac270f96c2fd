import { useQuery } from "@connectrpc/connect-query";
import { Select } from "../../kit/Field.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import styles from "./Pictures.module.css";

type SidePickerProps = {
  words: string;
  /** "recipes/x/revisions/3", "drafts/d", or empty. */
  chosen: string;
  onChoose: (name: string) => void;
  /** Words for no record. */
  none?: string;
  /** Only records of this kind: "prices". */
  kind?: "recipes" | "prices" | "notes" | "certificates" | "placements";
};

/** SidePicker chooses any revision of any record. */
export function SidePicker({ words, chosen, onChoose, none = "Choose…", kind }: SidePickerProps) {
  const record = chosen.startsWith("drafts/") ? "" : (chosen.split("/revisions/")[0] ?? "");
  const records = useQuery(CatalogService.method.listRecords, { kind: kind ?? "" });
  const revisions = useQuery(CatalogService.method.listRevisions, { record }, { enabled: record !== "" });
  const known = (records.data?.records ?? []).filter(({ newest }) => newest);
  return (
    <div className={styles.picker}>
      <Select
        label={kind ? words : `${words}: record`}
        value={record}
        none={chosen.startsWith("drafts/") ? "a draft" : none}
        options={known.map((one) => ({
          value: one.record,
          words: `${one.newest?.title || one.record}${kind ? "" : ` (${one.record.split("/")[0]})`}`,
        }))}
        onChange={(next) => {
          const newest = known.find((one) => one.record === next)?.newest;
          onChoose(newest?.name ?? "");
        }}
      />
      {record !== "" && (
        <Select
          label={kind ? `${words}, revision` : `${words}: revision`}
          value={chosen}
          none="Choose…"
          options={(revisions.data?.revisions ?? []).map((one) => ({
            value: one.name,
            words: `revision ${one.number}${one.reason ? `: ${one.reason.slice(0, 60)}` : ""}`,
          }))}
          onChange={onChoose}
        />
      )}
    </div>
  );
}
