import { fromBinary } from "@bufbuild/protobuf";
import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation, useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Select } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Loading } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { showMoney } from "../../units/money.ts";
import { partsPerMillion, seconds } from "../../units/quantities.ts";
import { LadderPicture } from "./LadderPicture.tsx";
import { UsualOrder } from "./UsualOrder.tsx";

/** PriceListScreen shows one price list: the ladder of each film, a usual order, and everything the list says. */
export default function PriceListScreen() {
  const { list: id = "" } = useParams();
  const record = `prices/${id}`;
  const [view, setView] = useSearchParams();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const network = useNetwork();
  const person = usePerson();
  const units = useUnits();
  const [request] = useState(uuid);
  const wanted = /^[1-9]\d{0,14}$/.test(view.get("revision") ?? "")
    ? BigInt(view.get("revision") ?? "0")
    : 0n;
  const query = useQuery(CatalogService.method.getRevision, { record, number: wanted });
  const revisions = useQuery(CatalogService.method.listRevisions, { record });
  const records = useQuery(CatalogService.method.listRecords, { kind: "prices" });
  const start = useMutation(DeskService.method.createDraft);
  const revision = query.data?.sealed ? fromBinary(RevisionSchema, query.data.sealed.content) : null;
  const list = revision?.content?.content.case === "priceList" ? revision.content.content.value : null;
  if (!list || !revision)
    return (
      <Screen question="What does this price list ask?" state={{ network }}>
        {query.error ? (
          <Failure
            title="The price list could not be loaded"
            fault={faultOf(query.error)}
            onRetry={() => void query.refetch()}
            retrying={query.isFetching}
          >
            <ButtonLink to={paths.prices}>All price lists</ButtonLink>
          </Failure>
        ) : (
          <Loading what="the price list" />
        )}
      </Screen>
    );
  const currency = list.currencyCode;
  const money = (minor: bigint) => showMoney({ minor, currency }, units.locale);
  const film = list.filmPrices.find((price) => price.film === view.get("film")) ?? list.filmPrices[0];
  const summary = records.data?.records.find((one) => one.record === record);
  const earlier = revisions.data?.revisions.find((one) => one.number < revision.number);
  const change = (changes: Record<string, string>) =>
    setView(
      (before) => {
        const next = new URLSearchParams(before);
        for (const [name, value] of Object.entries(changes)) next.set(name, value);
        return next;
      },
      { replace: true },
    );
  async function edit() {
    const answer = await start
      .mutateAsync({ record, baseNumber: revision?.number ?? 0n, requestId: request })
      .catch(() => null); // start.error holds it and is shown
    if (!answer?.draft) return;
    void queries.invalidateQueries(); // the lists now have an open draft
    go(paths.draft(lastPart(answer.draft.name)));
  }
  return (
    <Screen
      question={list.title || record}
      state={{ network, revision: `${record}, revision ${revision.number}`, asOf: query.dataUpdatedAt }}
      lead={
        (summary?.inForce.length ?? 0) > 0
          ? `In force: ${summary?.inForce.map((entry) => entry.replace("=", ", revision ")).join("; ")}.`
          : "Not in force anywhere."
      }
    >
      {start.error && <Failure title="The draft was not started" fault={faultOf(start.error)} />}
      {list.filmPrices.length > 1 && (
        <Select
          label="Film"
          value={film?.film ?? ""}
          options={list.filmPrices.map((price) => ({ value: price.film, words: price.film }))}
          onChange={(code) => change({ film: code })}
        />
      )}
      {film && <LadderPicture price={film} currency={currency} />}
      <Actions>
        {summary?.draft && mayWrite(person) ? (
          <ButtonLink kind="main" to={paths.draft(lastPart(summary.draft))}>
            Go on with the open draft
          </ButtonLink>
        ) : (
          <Button
            kind="main"
            pending={start.isPending}
            because={mayWrite(person) ? undefined : "Only an office editor or approver writes drafts."}
            onClick={() => void edit()}
          >
            Edit as a new draft
          </Button>
        )}
        {earlier && (
          <ButtonLink to={paths.sideBySide(earlier.name, `${record}/revisions/${revision.number}`)}>
            Side by side with revision {String(earlier.number)}
          </ButtonLink>
        )}
        {summary?.draft && mayReadDrafts(person) && (
          <ButtonLink to={paths.sideBySide(`${record}/revisions/${revision.number}`, summary.draft)}>
            Side by side with the draft
          </ButtonLink>
        )}
        {mayWrite(person) && (
          <ButtonLink
            to={withQuery(paths.recipes, { new: "prices", from: `${record}/revisions/${revision.number}` })}
          >
            New price list from this one
          </ButtonLink>
        )}
        <Button onClick={() => globalThis.print()}>Print</Button>
      </Actions>
      <UsualOrder list={list} view={view} change={change} />
      <Part title="What the list says">
        <Facts
          facts={[
            { words: "Market", value: list.market },
            { words: "Labour, an hour", value: money(list.labourPerHourMinor) },
            {
              words: "Set-up of a design and colour",
              value: units.show("duration", seconds(list.setUpSeconds)),
            },
            { words: "Handling of a garment", value: units.show("duration", seconds(list.handlingSeconds)) },
            {
              words: "Allowance for film lost",
              value: units.show("share", partsPerMillion(list.wasteAllowancePpm)),
            },
            {
              words: "Allowance for reprints",
              value: units.show("share", partsPerMillion(list.reprintAllowancePpm)),
            },
            {
              words: list.taxName || "Tax",
              value: `${units.show("share", partsPerMillion(list.taxPpm))}, ${list.taxIncluded ? "inside the prices" : "on top of the prices"}`,
            },
            { words: "Smallest amount asked", value: money(list.smallestOrderMinor) },
            {
              words: "Rounded to",
              value: list.roundToMinor > 1n ? money(list.roundToMinor) : "the smallest coin",
            },
          ]}
        />
        {list.garments.length > 0 && (
          <Table
            caption="Garments"
            rows={list.garments}
            keyOf={(garment) => garment.garment}
            columns={[
              {
                key: "garment",
                words: "Garment",
                heads: true,
                cell: (garment) => garment.title || garment.garment,
              },
              { key: "each", words: "Price each", figure: true, cell: (garment) => money(garment.eachMinor) },
            ]}
          />
        )}
      </Part>
      <Part title="Revisions">
        <Table
          caption="Every approved revision, newest first"
          quietCaption
          rows={revisions.data?.revisions ?? []}
          keyOf={(one) => one.name}
          marked={(one) => one.number === revision.number}
          columns={[
            {
              key: "number",
              words: "Revision",
              heads: true,
              cell: (one) =>
                one.number === revision.number ? (
                  `Revision ${one.number} (shown)`
                ) : (
                  <Button kind="plain" onClick={() => change({ revision: String(one.number) })}>
                    Show revision {String(one.number)}
                  </Button>
                ),
            },
            {
              key: "when",
              words: "Approved",
              cell: (one) =>
                one.approveTime ? showInstant(timestampMs(one.approveTime), units.locale) : "–",
            },
            { key: "why", words: "Why", cell: (one) => one.reason || "not said" },
          ]}
        />
      </Part>
    </Screen>
  );
}
