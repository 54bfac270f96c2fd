import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { Link } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { ButtonLink } from "../../kit/Button.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { DeskService, type Draft, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { showAge } from "../../units/durations.ts";
import { AgeBar } from "./AgeBar.tsx";

const since = (draft: Draft) => (draft.updateTime ? timestampMs(draft.updateTime) : 0);

/** SecondLooks lists the drafts that wait for another person, oldest first. */
export default function SecondLooks() {
  const network = useNetwork();
  const person = usePerson();
  const now = useNow(60_000);
  const query = useQuery(DeskService.method.listDrafts, { state: DraftState.ASKED });
  const waiting = (query.data?.drafts ?? []).toSorted((a, b) => since(a) - since(b));
  const oldest = waiting.find((draft) => lastPart(draft.author) !== lastPart(person.name));
  const longest = Math.max(1, ...waiting.map((draft) => now - since(draft)));
  return (
    <Screen
      question="What waits for a second look?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
    >
      {query.error && (
        <Failure
          title="The drafts could not be loaded"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && <Loading what="drafts" />}
      {query.data && waiting.length === 0 && (
        <Empty title="All looked at.">
          <p>A draft comes here when its author asks for a second look.</p>
        </Empty>
      )}
      {waiting.length > 0 && (
        <>
          {oldest && mayApprove(person) && (
            <div>
              <ButtonLink kind="main" to={paths.secondLook(lastPart(oldest.name))}>
                Look at the oldest
              </ButtonLink>
            </div>
          )}
          <Table<Draft>
            caption={waiting.length === 1 ? "1 draft waits" : `${waiting.length} drafts wait`}
            rows={waiting}
            keyOf={(draft) => draft.name}
            columns={[
              {
                key: "record",
                words: "Record",
                heads: true,
                cell: (draft) => <Link href={paths.secondLook(lastPart(draft.name))}>{draft.record}</Link>,
              },
              {
                key: "age",
                words: "Waits",
                cell: (draft) => (
                  <AgeBar share={(now - since(draft)) / longest} words={showAge(since(draft), now)} />
                ),
              },
              {
                key: "author",
                words: "Written by",
                cell: (draft) =>
                  lastPart(draft.author) === lastPart(person.name)
                    ? "you: another person must look"
                    : personWords(draft.author),
              },
              { key: "reason", words: "Why", cell: (draft) => draft.reason || "not said" },
            ]}
          />
        </>
      )}
    </Screen>
  );
}
