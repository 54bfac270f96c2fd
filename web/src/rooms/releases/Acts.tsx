import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useInfiniteQuery, useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import {
  type AuditEntry,
  PastService,
  type VerifyAuditResponse,
} from "../../proto/evenpeel/recipes/v1/past_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { shortHash } from "./writing.ts";

const pageSize = 100;

/** Acts lists who did what, and works the whole chain out again when asked. */
export default function Acts() {
  const network = useNetwork();
  const { locale } = useUnits();
  const acts = useInfiniteQuery(
    PastService.method.listAudit,
    { pageSize, belowNumber: 0n },
    {
      pageParamKey: "belowNumber",
      getNextPageParam: ({ entries }) => (entries.length === pageSize ? entries.at(-1)?.number : undefined),
    },
  );
  const check = useQuery(PastService.method.verifyAudit, {}, { enabled: false });
  const entries = acts.data?.pages.flatMap((page) => page.entries) ?? [];
  return (
    <Screen question="Who did what?" state={{ network, ...(acts.data && { asOf: acts.dataUpdatedAt }) }}>
      {acts.error && (
        <Failure
          title="The acts could not be loaded"
          fault={faultOf(acts.error)}
          onRetry={() => void acts.refetch()}
          retrying={acts.isFetching}
        />
      )}
      {acts.isPending && <Loading what="acts" />}
      {acts.data && (
        <Actions>
          <Button
            kind="main"
            pending={check.isFetching}
            pendingWords="Checking…"
            onClick={() => void check.refetch()}
          >
            Check the whole chain
          </Button>
          <ButtonLink to={paths.past}>What was in force</ButtonLink>
        </Actions>
      )}
      {check.error && <Failure title="The chain could not be checked" fault={faultOf(check.error)} />}
      {check.data && <Checked found={check.data} />}
      {acts.data && entries.length === 0 && <Empty title="Nothing was done yet." />}
      {entries.length > 0 && (
        <Table<AuditEntry>
          caption="Acts, newest first; each holds the hash of the one before"
          rows={entries}
          keyOf={({ number }) => String(number)}
          locale={locale}
          columns={[
            { key: "number", words: "Number", figure: true, cell: ({ number }) => String(number) },
            {
              key: "when",
              words: "When",
              cell: ({ actTime }) => (actTime ? showInstant(timestampMs(actTime), locale) : "–"),
            },
            { key: "who", words: "Who", cell: ({ person }) => personWords(person) },
            { key: "what", words: "Act", heads: true, cell: ({ act }) => actWords(act) },
            { key: "object", words: "To what", cell: ({ object }) => object },
            { key: "hash", words: "Hash", cell: ({ sha256 }) => <code>{shortHash(sha256)}…</code> },
          ]}
        />
      )}
      {acts.hasNextPage && (
        <Actions>
          <Button pending={acts.isFetchingNextPage} onClick={() => void acts.fetchNextPage()}>
            Show earlier ones
          </Button>
        </Actions>
      )}
    </Screen>
  );
}

/** actWords writes "ApproveDraft" as "Approve draft". */
function actWords(act: string): string {
  const words = act.replace(/([a-z])([A-Z])/g, "$1 $2").toLowerCase();
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function Checked({ found }: { found: VerifyAuditResponse }) {
  const broken = [
    found.brokenEntry && `Act ${found.brokenEntry.number}: ${found.brokenEntry.words}`,
    found.brokenRelease && `Release ${found.brokenRelease.number}: ${found.brokenRelease.words}`,
  ].filter((words) => words !== undefined);
  if (broken.length === 0)
    return (
      <Notice kind="info" title="Both chains are whole" live>
        <p>
          {String(found.entriesCount)} acts and {String(found.releasesCount)} releases each follow from the
          one before.
        </p>
      </Notice>
    );
  return (
    <Notice kind="block" title="A chain is broken" live>
      {broken.map((words) => (
        <p key={words}>{words}</p>
      ))}
      <p>Nothing before it is in doubt. Keep the store as it is and compare with an export.</p>
    </Notice>
  );
}
