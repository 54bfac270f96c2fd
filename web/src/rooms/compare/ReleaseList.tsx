import { Link } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { useSession } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import type { ReleaseMark } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showDay } from "../../units/durations.ts";
import styles from "./compare.module.css";

/** releaseInstant gives when a release came into force, or NaN. */
export const releaseInstant = (release: ReleaseMark): number =>
  release.effectiveTime ? Number(release.effectiveTime.seconds) * 1000 : Number.NaN;

// compare.v1 CompareRevisions: a branch manager may not ask.
const mayAsk: readonly Role[] = [
  Role.FRANCHISE_MANAGER,
  Role.OFFICE_EDITOR,
  Role.OFFICE_APPROVER,
  Role.AUDITOR,
];

/** ReleaseList names the releases on the axis, and asks of each recipe in them whether the change helped. */
export function ReleaseList({ releases }: { releases: readonly ReleaseMark[] }) {
  const units = useUnits();
  const { session } = useSession();
  const asks = session.state === "signed in" && session.person.roles.some((role) => mayAsk.includes(role));
  return (
    <ul className={styles.releases}>
      {releases.map((release) => (
        <li key={String(release.release)}>
          Release {units.count(release.release)}, {showDay(releaseInstant(release), units.locale, "UTC")}:{" "}
          {release.revisions.length === 0 && "no revision of its own"}
          {release.revisions.map((revision, at) => {
            const recipe = /^(recipes\/[^/]+)\/revisions\/\d+$/.exec(revision)?.[1];
            return (
              <span key={revision}>
                {at > 0 && ", "}
                {revision}
                {asks && recipe && (
                  <>
                    {" "}
                    (
                    <Link href={withQuery(paths.causes, { recipe })}>
                      did it help?<span className="unseen"> {revision}</span>
                    </Link>
                    )
                  </>
                )}
              </span>
            );
          })}
        </li>
      ))}
    </ul>
  );
}
