import { useQuery } from "@connectrpc/connect-query";
import { Link, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords, withQuery } from "../../app/paths.ts";
import { mayApprove, mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { ReleaseState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { ReleaseService } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { Proposals } from "./Proposals.tsx";
import styles from "./Releases.module.css";
import { useTitles } from "./useTitles.ts";
import { actWords, branchWords, sentence, stateWords } from "./writing.ts";

const pageSize = 50;

/** Releases draws the releases as one line, newest at the top: scheduled ones hollow, those in force filled. */
export default function Releases() {
  const [view] = useSearchParams();
  const network = useNetwork();
  const person = usePerson();
  const units = useUnits();
  const below = /^\d{1,15}$/.test(view.get("below") ?? "") ? BigInt(view.get("below") ?? "0") : 0n;
  const query = useQuery(CatalogService.method.listReleases, { pageSize, belowNumber: below });
  const releases = query.data?.releases ?? [];
  const last = releases.at(-1);
  const titles = useTitles();
  const proposals = useQuery(ReleaseService.method.listProposals, {}, { enabled: mayApprove(person) });
  // One main action: what waits for this person comes before something new.
  const asksMe = (proposals.data?.proposals ?? []).some(({ proposer }) => proposer !== person.name);
  return (
    <Screen
      question="What was put in force, where and when?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
    >
      {query.error && (
        <Failure
          title={releases.length > 0 ? "What is shown may be old" : "The releases could not be loaded"}
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && <Loading what="releases" />}
      {query.data && releases.length === 0 && (
        <Empty title="No release yet.">
          <p>A release puts approved revisions in force for markets, from an instant on.</p>
        </Empty>
      )}
      {view.get("asked") === "yes" && (
        <Status>It waits for a second person. Nothing is in force before somebody else approves it.</Status>
      )}
      {mayReadDrafts(person) && <Proposals />}
      {query.data && (
        <Actions>
          {mayWrite(person) && (
            <ButtonLink kind={asksMe ? "quiet" : "main"} to={paths.newRelease}>
              Prepare a release
            </ButtonLink>
          )}
          <ButtonLink to={paths.reach}>Which branch holds which release</ButtonLink>
        </Actions>
      )}
      <ol className={styles.line} reversed start={Number(releases[0]?.number ?? 0n)}>
        {releases.map((release) => {
          const waits = release.state === ReleaseState.SCHEDULED;
          const gone = release.state === ReleaseState.CANCELLED || release.state === ReleaseState.WITHDRAWN;
          return (
            <li
              key={String(release.number)}
              className={styles.stop}
              data-waits={waits || undefined}
              data-gone={gone || undefined}
            >
              <h2>
                <Link href={paths.release(Number(release.number))}>Release {String(release.number)}</Link>
                {release.trial && <small> trial</small>}
              </h2>
              <p>{actWords(release, titles)}</p>
              <p>
                {stateWords(release, units.locale)}, for {branchWords(release, titles)}.
              </p>
              <small>
                {sentence(release.reason)} Released by {personWords(release.approver)}.
              </small>
            </li>
          );
        })}
      </ol>
      {last && last.number > 1n && releases.length === pageSize && (
        <ButtonLink to={withQuery(paths.releases, { below: String(last.number) })}>
          Earlier releases
        </ButtonLink>
      )}
    </Screen>
  );
}
