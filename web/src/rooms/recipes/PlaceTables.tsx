import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { blank } from "./content.ts";

const usual = "placements/usual";

/** PlaceTables says by which table of places branches work, and lets head office write its own. */
export function PlaceTables() {
  const person = usePerson();
  const units = useUnits();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const [request] = useState(uuid);
  const list = useQuery(CatalogService.method.listRecords, { kind: "placements" });
  const start = useMutation(DeskService.method.createDraft);
  const record = list.data?.records.find((one) => one.record === usual);
  const draft = record?.draft && mayReadDrafts(person) ? lastPart(record.draft) : "";

  async function write() {
    const answer = await start
      .mutateAsync({
        record: usual,
        requestId: request,
        ...(record?.newest ? { baseNumber: record.newest.number } : { content: blank("placements") }),
      })
      .catch(() => null); // start.error holds it and is shown
    if (!answer?.draft) return;
    void queries.invalidateQueries(); // the lists now have an open draft
    go(paths.draft(lastPart(answer.draft.name)));
  }
  return (
    <Part title="Places on garments">
      {list.error && (
        <Failure
          title="The table of places could not be loaded"
          fault={faultOf(list.error)}
          onRetry={() => void list.refetch()}
          retrying={list.isFetching}
        />
      )}
      {start.error && <Failure title="The draft was not started" fault={faultOf(start.error)} />}
      {list.data && (
        <p>
          {record?.newest
            ? `Revision ${units.count(record.newest.number)} says where designs go and how wide they usually are; in force: ${record.inForce.map((entry) => entry.replace("=", " revision ")).join(", ") || "nowhere yet, so the table that comes with the program holds"}.`
            : "The table that comes with the program holds: common practice, no source. Write your own from it."}
        </p>
      )}
      {list.data && (
        <Actions>
          {draft !== "" ? (
            <ButtonLink to={paths.draft(draft)}>Open the draft of the places</ButtonLink>
          ) : (
            mayWrite(person) && (
              <Button pending={start.isPending} pendingWords="Starting…" onClick={() => void write()}>
                Change the places
              </Button>
            )
          )}
        </Actions>
      )}
    </Part>
  );
}
