import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths } from "../../app/paths.ts";
import { mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { blank, caseOf, kinds } from "./content.ts";
import { contentIn } from "./revisions.ts";
import { SidePicker } from "./SidePicker.tsx";

const idPattern = /^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$/; // as CreateDraft asks for it

/** NewRecord starts the first draft of a record that does not exist yet, empty or from another record. */
export function NewRecord({ folder }: { folder: string }) {
  const person = usePerson();
  const network = useNetwork();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const kind = caseOf(`${folder}/`);
  const { folder: known, words } = kinds[kind];
  const [id, setId] = useState("");
  const [view, setView] = useSearchParams();
  const from = view.get("from") ?? "";
  const [, record = "", number = "0"] = /^([a-z]+\/[a-z0-9-]+)\/revisions\/(\d{1,15})$/.exec(from) ?? [];
  const [attempt, setAttempt] = useState(0);
  const [request] = useState(uuid);
  const source = useQuery(
    CatalogService.method.getRevision,
    { record, number: BigInt(number) },
    { enabled: record !== "" },
  );
  const start = useMutation(DeskService.method.createDraft);
  const fault = start.error ? faultOf(start.error) : null;
  const wrong =
    attempt > 0 && !idPattern.test(id)
      ? "Short name must begin with a letter and hold only small letters, digits and hyphens"
      : undefined;

  async function begin() {
    setAttempt((count) => count + 1);
    if (!idPattern.test(id)) return;
    const copied = from === "" ? null : contentIn(source.data?.sealed);
    if (from !== "" && !copied) return;
    const answer = await start
      .mutateAsync({ record: `${known}/${id}`, content: copied ?? blank(kind), requestId: request })
      .catch(() => null); // start.error holds it and is shown
    if (!answer?.draft) return;
    void queries.invalidateQueries(); // the lists now have an open draft
    go(paths.draft(lastPart(answer.draft.name)));
  }

  return (
    <Screen
      question={`What is the new ${words} called?`}
      state={{ network }}
      failed={wrong !== undefined || fault !== null}
      lead="The short name stays for ever: it stands in addresses and on every sealed revision. The name for people can change."
    >
      <ErrorSummary faults={wrong ? [{ path: "record", words: wrong }] : []} attempt={attempt} />
      {fault && <Failure title="The draft was not started" fault={fault} />}
      {source.error && (
        <Failure title="What it should start from could not be loaded" fault={faultOf(source.error)} />
      )}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void begin();
        }}
      >
        <TextField
          label="Short name"
          hint="Small letters, digits and hyphens: glimmer-cotton."
          path="record"
          maxLength={63}
          value={id}
          onChange={setId}
          {...(wrong ? { fault: wrong } : {})}
        />
        <SidePicker
          words="Start from"
          none={`an empty ${words}`}
          kind={known}
          chosen={from}
          onChoose={(name) => setView({ new: known, ...(name ? { from: name } : {}) }, { replace: true })}
        />
        <Actions>
          <Button
            kind="main"
            type="submit"
            pending={start.isPending || source.isFetching}
            because={mayWrite(person) ? undefined : "Only an office editor or approver starts drafts."}
          >
            Start the draft
          </Button>
          <ButtonLink
            to={
              {
                recipes: paths.recipes,
                prices: paths.prices,
                notes: paths.papers,
                certificates: paths.papers,
                placements: paths.recipes,
              }[known]
            }
          >
            Back
          </ButtonLink>
        </Actions>
      </form>
    </Screen>
  );
}
