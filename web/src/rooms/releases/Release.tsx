import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { Link, useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords, withQuery } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import styles from "./Releases.module.css";
import { branchWords, effectiveAt, pathTo, revisionWords, shortHash } from "./writing.ts";

/** Release shows one release; right after releasing it also confirms its number and instant. */
export default function Release() {
  const { number = "" } = useParams();
  const [view] = useSearchParams();
  const network = useNetwork();
  const person = usePerson();
  const { locale } = useUnits();
  const now = useNow(30_000);
  const wanted = /^[1-9]\d{0,14}$/.test(number) ? BigInt(number) : 0n;
  const query = useQuery(
    CatalogService.method.listReleases,
    { pageSize: 1, belowNumber: wanted + 1n },
    { enabled: wanted > 0n },
  );
  const found = query.data?.releases[0];
  const release = found?.number === wanted ? found : undefined;
  if (!release)
    return (
      <Screen question="What did this release put in force?" state={{ network }}>
        {query.error ? (
          <Failure
            title="The release could not be loaded"
            fault={faultOf(query.error)}
            onRetry={() => void query.refetch()}
            retrying={query.isFetching}
          />
        ) : query.isLoading ? (
          <Loading what="the release" />
        ) : (
          <Empty
            title={`There is no release ${number}.`}
            action={<ButtonLink to={paths.releases}>All releases</ButtonLink>}
          />
        )}
      </Screen>
    );
  const at = effectiveAt(release);
  const waits = at > now;
  return (
    <Screen
      question={`What does release ${release.number} put in force?`}
      state={{ network, revision: `release ${release.number}` }}
    >
      {view.get("done") === "yes" && (
        <Notice kind="info" live title={`Release ${release.number} is done.`}>
          <p>
            {waits ? "It is in force from" : "It is in force since"} {showInstant(at, locale)} (
            {showInstant(at, locale, "UTC")}). Branches pull it by themselves.
          </p>
        </Notice>
      )}
      <p className={styles.instant}>
        {waits ? "In force from" : "In force since"} {showInstant(at, locale)}, for {branchWords(release)}.
        <small>{showInstant(at, locale, "UTC")}</small>
      </p>
      <Actions>
        <ButtonLink kind="main" to={paths.reach}>
          See which branches hold it
        </ButtonLink>
        {person.roles.includes(Role.OFFICE_APPROVER) && (
          <ButtonLink
            to={withQuery(paths.newRelease, {
              with: release.revisions.join(" "),
              markets: release.markets.join(" "),
            })}
          >
            Go back to these revisions
          </ButtonLink>
        )}
        <ButtonLink to={paths.releases}>All releases</ButtonLink>
      </Actions>
      <Part title="What it puts in force">
        <ul>
          {release.revisions.map((revision) => (
            <li key={revision}>
              <Link href={pathTo(revision)}>{revisionWords(revision)}</Link>
            </li>
          ))}
        </ul>
      </Part>
      <Part title="How it came to be">
        <Facts
          facts={[
            { words: "Why", value: release.reason || "not said" },
            { words: "Released by", value: personWords(release.approver) },
            {
              words: "Released at",
              value: release.releaseTime ? showInstant(timestampMs(release.releaseTime), locale) : "–",
            },
            { words: "Markets", value: release.markets.join(", ") },
            { words: "Sealed as", value: <code>{shortHash(release.sha256)}…</code> },
          ]}
        />
      </Part>
    </Screen>
  );
}
