import { useQuery as useCall } from "@connectrpc/connect-query";
import { useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { useSession } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Facts, Screen } from "../../kit/Screen.tsx";
import { Status } from "../../kit/Waiting.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { askReady } from "./ready.ts";
import { linesOf, reportOf } from "./report.ts";

const branchRoles: readonly Role[] = [Role.BRANCH_OPERATOR, Role.BRANCH_MANAGER];
const askAgainMs = 30_000;

/** Health says how fresh everything is. It works signed out and without network: then that is what it says. */
export default function Health() {
  const { session, serverVersion, ask } = useSession();
  const units = useUnits();
  const now = useNow(10_000);
  const [said, setSaid] = useState("");
  const person = session.state === "signed in" ? session.person : null;
  const seesReach = person?.roles.some((role) => !branchRoles.includes(role)) ?? false;

  const ready = useQuery({
    queryKey: ["health", "ready"],
    queryFn: () => askReady((url) => fetch(url, { cache: "no-store" })),
    refetchInterval: askAgainMs,
  });
  const releases = useCall(
    CatalogService.method.listReleases,
    { pageSize: 1, belowNumber: 0n },
    { enabled: person !== null },
  );
  const reach = useCall(CatalogService.method.listReach, {}, { enabled: seesReach });

  const [newest] = releases.data?.releases ?? [];
  const lines = linesOf({
    now,
    locale: units.locale,
    online: navigator.onLine,
    ready: ready.data ?? null,
    version: serverVersion,
    signedIn: person !== null,
    release: releases.data ? (newest ?? null) : undefined,
    reaches: reach.data?.reaches,
  });
  const hot = lines.filter((line) => line.hot);
  const failed = releases.error ?? reach.error;

  async function copy() {
    try {
      await navigator.clipboard.writeText(reportOf(lines, Date.now(), navigator.userAgent));
      setSaid("The report is copied. It holds no password and no session.");
    } catch {
      setSaid("Copying is not allowed here. Mark the lines below and copy them by hand.");
    }
  }
  function lookAgain() {
    setSaid("");
    void ask();
    void ready.refetch();
    if (person) void releases.refetch();
    if (seesReach) void reach.refetch();
  }
  return (
    <Screen
      question="Is everything fresh and reached?"
      state={{
        network: ready.data?.state === "unreached" ? "away" : "here",
        ...(ready.data && { asOf: ready.dataUpdatedAt }),
      }}
    >
      {ready.data &&
        (hot.length === 0 ? (
          <Notice kind="info" title="Everything that can be seen from here is in order." />
        ) : (
          <Notice
            kind="caution"
            title={`To look after: ${hot.map((line) => line.words.toLowerCase()).join(", ")}`}
          />
        ))}
      <Facts
        facts={lines.map((line) => ({
          words: line.words,
          value: line.hot ? <strong>{line.value}</strong> : line.value,
        }))}
      />
      {failed && (
        <Notice kind="caution" title="Releases could not be looked at">
          <p>{faultOf(failed).words}</p>
        </Notice>
      )}
      <Actions>
        <Button kind="main" onClick={() => void copy()}>
          Copy report
        </Button>
        <Button onClick={lookAgain} pending={ready.isFetching} pendingWords="Looking…">
          Look again
        </Button>
      </Actions>
      <Status>{said}</Status>
    </Screen>
  );
}
