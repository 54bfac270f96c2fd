import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { Link, useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords, withQuery } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import {
  ReleaseAct,
  ReleaseState,
  type ReleaseSummary,
} from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import {
  type GetReleaseResponse,
  ReleaseService,
} from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { CancelRelease } from "./CancelRelease.tsx";
import { Evidence } from "./Evidence.tsx";
import styles from "./Releases.module.css";
import { Staircase } from "./Staircase.tsx";
import { useTitles } from "./useTitles.ts";
import {
  actWords,
  branchWords,
  effectiveAt,
  pathTo,
  revisionWords,
  shortHash,
  stateWords,
} from "./writing.ts";

const question = "What did this release put in force?";

/** Release shows one release; right after releasing it also confirms its number and instant. */
export default function Release() {
  const { number = "" } = useParams();
  const network = useNetwork();
  const wanted = /^[1-9]\d{0,14}$/.test(number) ? BigInt(number) : 0n;
  const query = useQuery(ReleaseService.method.getRelease, { number: wanted }, { enabled: wanted > 0n });
  const fault = query.error ? faultOf(query.error) : null;
  if (query.data?.release) return <Found answer={query.data} release={query.data.release} />;
  if (wanted === 0n || fault?.kind === "NOT_FOUND")
    return (
      <Screen question={question} state={{ network }}>
        <Empty
          title={`There is no release ${number}.`}
          action={<ButtonLink to={paths.releases}>All releases</ButtonLink>}
        />
      </Screen>
    );
  return (
    <Screen question={question} state={{ network }}>
      {fault ? (
        <Failure
          title="The release could not be loaded"
          fault={fault}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      ) : (
        <Loading what="the release" />
      )}
    </Screen>
  );
}

function Found({ answer, release }: { answer: GetReleaseResponse; release: ReleaseSummary }) {
  const [view] = useSearchParams();
  const network = useNetwork();
  const person = usePerson();
  const { locale } = useUnits();
  const at = effectiveAt(release);
  const number = Number(release.number);
  const cancelled = release.state === ReleaseState.CANCELLED;
  // A cancelled release reaches nobody: there is nothing of it to see, to widen or to go back from.
  const puts = !cancelled && (release.act === ReleaseAct.PUT || release.act === ReleaseAct.WITHDRAW);
  const approver = mayApprove(person);
  const titles = useTitles();
  const scheduled = release.state === ReleaseState.SCHEDULED;
  // Reach and evidence are for who sees every branch; a branch sees its own on its bench.
  const overall = person.branch === "";
  return (
    <Screen
      question={`What does release ${release.number} put in force?`}
      state={{ network, revision: `release ${release.number}` }}
    >
      {view.get("done") === "yes" && !cancelled && (
        <Notice kind="info" title={`Release ${release.number} is done.`} live>
          <p>
            It is signed and on its way; Reach shows which branch holds it. In force from{" "}
            {showInstant(at, locale, "UTC")}.
          </p>
        </Notice>
      )}
      <p className={styles.instant}>
        {stateWords(release, locale)}, for {branchWords(release, titles)}.
        <small>
          {showInstant(at, locale, "UTC")}
          {puts &&
            !scheduled &&
            `; in force now at ${release.inForceBranchesCount} of ${release.branchesCount} branches`}
        </small>
      </p>
      {release.trial && release.state === ReleaseState.IN_FORCE && (
        <Notice kind="info" title="A trial: a few branches work by it">
          <p>
            <Link href={paths.trial(number)}>See what it shows so far</Link>, by a rule stated beforehand;
            then widen it, or go back.
          </p>
        </Notice>
      )}
      <Actions>
        {puts && overall && (
          <ButtonLink kind="main" to={paths.reach}>
            See which branches hold it
          </ButtonLink>
        )}
        {approver && release.trial && puts && !scheduled && (
          <ButtonLink to={withQuery(paths.newRelease, { widens: number })}>Widen it</ButtonLink>
        )}
        {approver && puts && release.state === ReleaseState.IN_FORCE && (
          <ButtonLink to={withQuery(paths.newRelease, { back: number })}>
            Go back to what stood before
          </ButtonLink>
        )}
        {approver && scheduled && <CancelRelease number={release.number} />}
        <ButtonLink to={paths.releases}>All releases</ButtonLink>
      </Actions>
      <Part title={release.act === ReleaseAct.PUT ? "What it puts in force" : "What it does"}>
        {release.act !== ReleaseAct.PUT ? (
          <p>{actWords(release, titles)}</p>
        ) : (
          <ul>
            {release.revisions.map((revision) => (
              <li key={revision}>
                <Link href={pathTo(revision)}>{revisionWords(revision, titles)}</Link>
              </li>
            ))}
            {release.withdrawn.map((record) => (
              <li key={record}>{titles(record)} is taken out of force</li>
            ))}
          </ul>
        )}
      </Part>
      {puts && overall && <Staircase release={release} />}
      {puts && overall && release.revisions.length > 0 && <Evidence revisions={release.revisions} />}
      <Part title="How it came to be">
        <Facts
          facts={[
            { words: "Why", value: release.reason || "not said" },
            ...(release.proposer ? [{ words: "Proposed by", value: personWords(release.proposer) }] : []),
            { words: "Released by", value: personWords(release.approver) },
            {
              words: "Released at",
              value: release.releaseTime ? showInstant(timestampMs(release.releaseTime), locale) : "–",
            },
            { words: "Markets", value: release.markets.join(", ") || "–" },
            ...(release.widens > 0n
              ? [
                  {
                    words: "Widens",
                    value: (
                      <Link href={paths.release(Number(release.widens))}>
                        release {String(release.widens)}
                      </Link>
                    ),
                  },
                ]
              : []),
            { words: "Sealed as", value: <code>{shortHash(release.sha256)}…</code> },
            { words: "Signed by key", value: <code>{answer.sealed?.key ?? "–"}</code> },
          ]}
        />
      </Part>
    </Screen>
  );
}
