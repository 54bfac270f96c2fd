import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { Mark, type Standing } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showDayOf } from "./view.ts";
import { titleOf } from "./words.ts";

/** Silent names the branches that sent nothing: no report is not the same as no reprint. */
export function Silent({ standings }: { standings: readonly Standing[] }) {
  const { locale } = useUnits();
  const silent = standings.filter((standing) => standing.mark === Mark.SILENT);
  if (silent.length === 0) return null;
  const said = silent.map((standing) =>
    standing.lastDay === ""
      ? titleOf(standing)
      : `${titleOf(standing)} (last report ${showDayOf(standing.lastDay, locale)})`,
  );
  return (
    <Notice
      kind="caution"
      title={
        silent.length === 1
          ? "1 branch sent nothing in these days"
          : `${silent.length} branches sent nothing in these days`
      }
    >
      <p>{said.join(", ")}. They are not in the picture.</p>
    </Notice>
  );
}
