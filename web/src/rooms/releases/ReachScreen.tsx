import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Choice } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Picture } from "../../kit/Picture.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CatalogService, type Reach } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { showAge } from "../../units/durations.ts";
import { ReachGrid, rowPx } from "./ReachGrid.tsx";
import { findingOf, standingOf } from "./reach.ts";

/** ReachScreen shows which branch holds which release. */
export default function ReachScreen() {
  const [view, setView] = useSearchParams();
  const network = useNetwork();
  const { locale } = useUnits();
  const now = useNow(60_000);
  const query = useQuery(CatalogService.method.listReach, {});
  const releases = useQuery(CatalogService.method.listReleases, { pageSize: 8 });
  const branches = useQuery(BranchesService.method.listBranches, {});
  const titles = new Map(branches.data?.branches.map((branch) => [branch.name, branch.title]));
  const titleOf = (branch: string) => titles.get(branch) ?? lastPart(branch);
  const numbers = (releases.data?.releases ?? []).map((release) => Number(release.number)).toReversed();
  const reaches = query.data?.reaches ?? [];
  const standing = (reach: Reach) => standingOf(reach, now);
  const heard = (reach: Reach) =>
    reach.pullTime ? showAge(timestampMs(reach.pullTime), now).replace(/ old$/, " ago") : "never";
  const show = view.get("show") === "open" ? "open" : "all";
  const shown = show === "all" ? reaches : reaches.filter((reach) => standing(reach) !== "holds it");
  return (
    <Screen
      question="Which branch holds which release?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
    >
      {query.error && (
        <Failure
          title={reaches.length > 0 ? "What is shown may be old" : "Reach could not be loaded"}
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {releases.error && <Failure title="The releases could not be loaded" fault={faultOf(releases.error)} />}
      {query.isPending && <Loading what="reach" />}
      {query.data && reaches.length === 0 && <Empty title="No branch yet." />}
      {reaches.length > 0 && (
        <>
          <Picture
            finding={findingOf(reaches.map(standing))}
            name="reach"
            labels={{ left: shown.map((reach) => titleOf(reach.branch)), bottom: false }}
            height={() => Math.max(1, shown.length) * rowPx + 24}
            limits="A silent branch is not known to be behind: it keeps the next sheet and changes to it by itself, without network."
            numbers={{
              columns: [
                { words: "Branch" },
                { words: "Newest release meant for it" },
                { words: "Release it holds" },
                { words: "Standing" },
              ],
              rows: shown.map((reach) => [
                titleOf(reach.branch),
                reach.toldRelease,
                reach.heldRelease,
                standing(reach),
              ]),
            }}
            below={
              <small>
                Filled: held. Outlined: meant for the branch, not held yet. Dashed: the branch is silent.
              </small>
            }
          >
            {(box) => (
              <ReachGrid
                box={box}
                releases={numbers}
                rows={shown.map((reach) => ({
                  words: titleOf(reach.branch),
                  held: Number(reach.heldRelease),
                  told: Number(reach.toldRelease),
                  silent: standing(reach) === "silent" || standing(reach) === "never heard",
                }))}
              />
            )}
          </Picture>
          <div>
            <ButtonLink kind="main" to={paths.releases}>
              All releases
            </ButtonLink>
          </div>
          <Choice
            label="Show"
            row
            value={show}
            options={[
              { value: "all", words: "All branches" },
              { value: "open", words: "Only those behind or silent" },
            ]}
            onChange={(next) => setView(next === "all" ? {} : { show: next }, { replace: true })}
          />
          <Table<Reach>
            caption="Branches"
            quietCaption
            rows={shown}
            keyOf={(reach) => reach.branch}
            locale={locale}
            marked={(reach) => standing(reach) === "behind"}
            empty="None: every branch holds what is meant for it."
            columns={[
              {
                key: "branch",
                words: "Branch",
                heads: true,
                sortBy: (reach) => titleOf(reach.branch),
                cell: (reach) => titleOf(reach.branch),
              },
              {
                key: "told",
                words: "Meant for it",
                figure: true,
                cell: (reach) => String(reach.toldRelease),
              },
              {
                key: "held",
                words: "Holds",
                figure: true,
                sortBy: (reach) => reach.heldRelease,
                cell: (reach) => String(reach.heldRelease),
              },
              { key: "standing", words: "Standing", sortBy: standing, cell: standing },
              { key: "heard", words: "Last pull", cell: heard },
            ]}
          />
        </>
      )}
    </Screen>
  );
}
