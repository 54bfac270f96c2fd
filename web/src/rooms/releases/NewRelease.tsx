import { useQuery } from "@connectrpc/connect-query";
import { useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { useNetwork } from "../../app/session.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { ReleaseService } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { candidatesOf } from "./candidates.ts";
import { emptyPlan, markets, type Planned, plannedFrom } from "./planning.ts";
import { ReleaseForm } from "./ReleaseForm.tsx";

const numberIn = (text: string | null): bigint =>
  /^[1-9]\d{0,14}$/.test(text ?? "") ? BigInt(text ?? "0") : 0n;

/**
 * NewRelease starts from what is asked for in the address: `with` names revisions, `back` a release to go back of,
 * `widens` a trial to widen, `withdraw` a record to take out of force. Without any, from what is approved and in force
 * nowhere.
 */
export default function NewRelease() {
  const network = useNetwork();
  const [view] = useSearchParams();
  const back = numberIn(view.get("back"));
  const widens = numberIn(view.get("widens"));
  const records = useQuery(CatalogService.method.listRecords, {});
  const before = useQuery(
    ReleaseService.method.previewRelease,
    { plan: {}, goBackOf: back },
    { enabled: back > 0n },
  );
  const trial = useQuery(ReleaseService.method.getRelease, { number: widens }, { enabled: widens > 0n });
  const waiting = [records, ...(back > 0n ? [before] : []), ...(widens > 0n ? [trial] : [])];
  const failed = waiting.find((query) => query.error);
  const ready = waiting.every((query) => query.data !== undefined);

  function start(known: readonly RecordSummary[]): Planned {
    const reason = back > 0n ? `Goes back to what stood before release ${back}` : "";
    if (before.data?.plan && back > 0n) return { ...plannedFrom(before.data.plan), reason };
    const tried = trial.data?.release;
    if (tried && widens > 0n)
      return {
        ...emptyPlan,
        revisions: new Set(tried.revisions),
        markets: new Set(tried.markets),
        reason: tried.reason,
        widens,
      };
    const withdraw = view.get("withdraw") ?? "";
    const asked = (view.get("markets") ?? "").split(" ");
    const wanted = (view.get("with") ?? "").split(" ").filter(Boolean);
    return {
      ...emptyPlan,
      revisions: new Set(
        withdraw !== ""
          ? []
          : candidatesOf(known, wanted)
              .filter((one) => one.chosen)
              .map((one) => one.revision),
      ),
      withdrawn: new Set(withdraw === "" ? [] : [withdraw]),
      markets: new Set(markets.filter((market) => asked.includes(market))),
    };
  }
  return (
    <Screen
      question="What should be in force, where and from when?"
      state={{ network, ...(records.dataUpdatedAt > 0 ? { asOf: records.dataUpdatedAt } : {}) }}
      lead="A release is signed, numbered and can not be taken back. Going back is a new release of an earlier revision."
    >
      {failed?.error && (
        <Failure
          title="What can be released could not be loaded"
          fault={faultOf(failed.error)}
          onRetry={() => void failed.refetch()}
          retrying={failed.isFetching}
        />
      )}
      {!failed && !ready && <Loading what="approved revisions" />}
      {records.data && ready && (
        <ReleaseForm
          key={`${view}`}
          records={records.data.records}
          start={start(records.data.records)}
          cautions={back > 0n ? (before.data?.cautions ?? []) : []}
        />
      )}
    </Screen>
  );
}
