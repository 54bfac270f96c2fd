// Staircase draws how a release came to the branches: one step up for each branch that came to hold it.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Picture } from "../../kit/Picture.tsx";
import { Part } from "../../kit/Screen.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import type { ReleaseSummary } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import styles from "./Releases.module.css";
import { stairsOf } from "./reach.ts";
import { useTitles } from "./useTitles.ts";
import { effectiveAt } from "./writing.ts";

export function Staircase({ release }: { release: ReleaseSummary }) {
  const { locale } = useUnits();
  const titles = useTitles();
  const query = useQuery(CatalogService.method.listReach, {});
  if (query.error)
    return <Failure title="How far it came could not be loaded" fault={faultOf(query.error)} />;
  if (!query.data) return null;
  const all = stairsOf(query.data.reaches, release.number);
  const made = release.releaseTime ? timestampMs(release.releaseTime) : effectiveAt(release);
  const now = query.data.serverTime ? timestampMs(query.data.serverTime) : made;
  // Only branches in its scope count, and its scope is counted by the server.
  const most = Math.max(1, Number(release.branchesCount), all.stairs.length);
  const last = all.stairs.at(-1)?.at ?? made;
  const end = Math.max(made + 60_000, Math.min(now, last + (last - made) * 0.25 + 60_000), last);
  return (
    <Part title="How it came to the branches">
      <Picture
        finding={`${all.stairs.length} of ${most} ${most === 1 ? "branch" : "branches"} hold it or a newer one`}
        name={`release-${release.number}-reach`}
        height={() => 220}
        labels={{ left: [String(most)] }}
        limits="A branch that holds a newer release is drawn where it came to hold that one: it held this one by then."
        numbers={{
          columns: [{ words: "Branch" }, { words: "Holds it since (UTC)" }],
          rows: all.stairs.map(({ branch, at }) => [titles(branch), new Date(at).toISOString()]),
        }}
      >
        {(box) => {
          const x = (at: number) => ((Math.max(made, at) - made) / (end - made)) * box.width;
          const y = (count: number) => box.height - (count / most) * box.height;
          let path = `M0 ${y(0)}`;
          all.stairs.forEach(({ at }, index) => {
            path += `H${x(at)}V${y(index + 1)}`;
          });
          path += `H${box.width}`;
          return (
            <>
              <line x2={box.width} y1={y(most)} y2={y(most)} data-line="grid" />
              <text x={-8} y={y(most) + 5} textAnchor="end" data-voice="second">
                {most}
              </text>
              <text x={-8} y={y(0) + 5} textAnchor="end" data-voice="second">
                0
              </text>
              <line x2={box.width} y1={y(0)} y2={y(0)} data-line="axis" />
              <path d={path} className={styles.stair} />
              <text y={box.height + 18} data-voice="second">
                {showInstant(made, locale)}
              </text>
              <text x={box.width} y={box.height + 38} textAnchor="end" data-voice="second">
                {showInstant(end, locale)}
              </text>
            </>
          );
        }}
      </Picture>
    </Part>
  );
}
