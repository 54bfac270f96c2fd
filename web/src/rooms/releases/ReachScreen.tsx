import { type Timestamp, timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Choice } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Picture } from "../../kit/Picture.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  CatalogService,
  type Reach,
  ReachStage,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { showAge, showInstant } from "../../units/durations.ts";
import { type Group, heightOf, ReachGrid, Shape } from "./ReachGrid.tsx";
import styles from "./Releases.module.css";
import { findingOf, stages, stageWords } from "./reach.ts";

/** ReachScreen shows how far what was released came at each branch; a branch sees itself. */
export default function ReachScreen() {
  const [view, setView] = useSearchParams();
  const network = useNetwork();
  const { branch: own } = usePerson();
  const { locale } = useUnits();
  const now = useNow(60_000);
  const query = useQuery(CatalogService.method.listReach, { branch: own });
  const branches = useQuery(BranchesService.method.listBranches, {});
  const known = new Map(branches.data?.branches.map((branch) => [branch.name, branch]));
  const titleOf = (branch: string) => known.get(branch)?.title ?? lastPart(branch);
  const reaches = query.data?.reaches ?? [];
  const ago = (time: Timestamp | undefined) =>
    time ? showAge(timestampMs(time), now).replace(/ old$/, " ago") : "never";
  const show = view.get("show") === "open" ? "open" : "all";
  const shown =
    show === "all" ? reaches : reaches.filter((reach) => reach.stage === ReachStage.TOLD || reach.silent);
  const chosen = reaches.find(
    ({ branch }) => lastPart(branch) === (own === "" ? view.get("branch") : lastPart(own)),
  );
  const choose = (branch: string) => {
    const next: Record<string, string> = { branch: lastPart(branch) };
    if (show === "open") next.show = "open";
    setView(next, { replace: true });
  };
  return (
    <Screen
      question={
        own === "" ? "Which branch holds which release?" : "How far did the newest release come here?"
      }
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
      {query.isPending && <Loading what="reach" />}
      {query.data && reaches.length === 0 && <Empty title="No branch yet." />}
      {own === "" && reaches.length > 0 && (
        <Squares
          reaches={reaches}
          titleOf={titleOf}
          marketOf={(branch) => known.get(branch)?.market ?? ""}
          chosen={chosen?.branch ?? ""}
          onChoose={choose}
        />
      )}
      {chosen && <One reach={chosen} title={titleOf(chosen.branch)} />}
      {own === "" && reaches.length > 0 && (
        <>
          <Actions>
            <ButtonLink kind="main" to={paths.releases}>
              All releases
            </ButtonLink>
          </Actions>
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
            marked={(reach) => reach.stage === ReachStage.TOLD}
            empty="None: every branch holds what is meant for it."
            columns={[
              {
                key: "branch",
                words: "Branch",
                heads: true,
                sortBy: (reach) => titleOf(reach.branch),
                cell: (reach) => (
                  <Button kind="plain" onClick={() => choose(reach.branch)}>
                    {titleOf(reach.branch)}
                  </Button>
                ),
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
              {
                key: "stage",
                words: "How far",
                sortBy: (reach) => reach.stage,
                cell: (reach) => stageWords[reach.stage] + (reach.silent ? ", silent" : ""),
              },
              {
                key: "heard",
                words: "Last pull",
                sortBy: (reach) => (reach.pullTime ? timestampMs(reach.pullTime) : 0),
                cell: (reach) => ago(reach.pullTime),
              },
            ]}
          />
        </>
      )}
      {query.data && own === "" && (
        <p>
          A branch is silent when it did not pull for {showHours(query.data.silentAfterSeconds)}. It is not
          known to be behind: it keeps the next sheet and changes to it by itself, without network.
          {query.data.serverTime &&
            ` Times are seen from ${showInstant(timestampMs(query.data.serverTime), locale)}.`}
        </p>
      )}
    </Screen>
  );
}

const showHours = (seconds: bigint) => `${Math.round(Number(seconds) / 3600)} hours`;

type SquaresProps = {
  reaches: readonly Reach[];
  titleOf: (branch: string) => string;
  marketOf: (branch: string) => string;
  chosen: string;
  onChoose: (branch: string) => void;
};

function Squares({ reaches, titleOf, marketOf, chosen, onChoose }: SquaresProps) {
  const squares = reaches
    .map(({ branch, stage, silent }) => ({ branch, title: titleOf(branch), stage, silent }))
    .sort((a, b) => a.title.localeCompare(b.title));
  const groups: Group[] = [...new Set(reaches.map(({ branch }) => marketOf(branch)))]
    .sort()
    .map((market) => ({ market, squares: squares.filter(({ branch }) => marketOf(branch) === market) }));
  return (
    <Picture
      finding={findingOf(reaches)}
      name="reach"
      labels={{ top: false, bottom: false }}
      height={(width) => heightOf(groups, width - 14) + 8}
      numbers={{
        columns: [
          { words: "Branch" },
          { words: "Newest release meant for it" },
          { words: "Release it holds" },
          { words: "How far" },
          { words: "Silent" },
        ],
        rows: reaches.map((reach) => [
          titleOf(reach.branch),
          reach.toldRelease,
          reach.heldRelease,
          stageWords[reach.stage],
          reach.silent ? "silent" : "heard",
        ]),
      }}
      below={
        <ul className={styles.key}>
          {stages.map((stage) => (
            <li key={stage}>
              <svg viewBox="-1 -1 28 28" aria-hidden="true">
                <Shape stage={stage} silent={false} />
              </svg>
              {stageWords[stage]}
            </li>
          ))}
          <li>
            <svg viewBox="-1 -1 28 28" aria-hidden="true">
              <Shape stage={ReachStage.TOLD} silent />
            </svg>
            not heard lately
          </li>
        </ul>
      }
    >
      {(box) => <ReachGrid box={box} groups={groups} chosen={chosen} onChoose={onChoose} />}
    </Picture>
  );
}

/** One is a branch's own way from told to used, and since when. */
function One({ reach, title }: { reach: Reach; title: string }) {
  const { locale } = useUnits();
  const since = (time: Timestamp | undefined, release: bigint) =>
    time ? `release ${release}, since ${showInstant(timestampMs(time), locale)}` : "not yet";
  return (
    <Part title={`${title}: ${stageWords[reach.stage]}`}>
      <Facts
        facts={[
          { words: "Told", value: since(reach.toldTime, reach.toldRelease) },
          { words: "Holds", value: since(reach.holdTime, reach.heldRelease) },
          { words: "Opened", value: since(reach.openTime, reach.openedRelease) },
          { words: "Used in a run", value: since(reach.useTime, reach.usedRelease) },
          {
            words: "Last pull",
            value: reach.pullTime ? showInstant(timestampMs(reach.pullTime), locale) : "never",
          },
        ]}
      />
      <Actions>
        <ButtonLink to={withQuery(paths.past, { branch: lastPart(reach.branch) })}>
          What it had in force, and when
        </ButtonLink>
      </Actions>
    </Part>
  );
}
