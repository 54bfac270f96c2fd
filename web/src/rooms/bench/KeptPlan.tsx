import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useState } from "react";
import { useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, withQuery } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import type { Fault } from "../../kit/fault.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { saveFile } from "../../kit/saving.ts";
import { Loading, Status } from "../../kit/Waiting.tsx";
import { CutFormat, type Layout, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { orderName } from "./addresses.ts";
import styles from "./bench.module.css";
import { LastRuns } from "./LastRuns.tsx";
import { NoBranch } from "./NoBranch.tsx";
import { PlanView } from "./PlanView.tsx";
import { useSaved } from "./saved.ts";

const question = "Is everything ready to start?";

/** KeptPlan shows an order as it was accepted, with its cut files. */
export default function KeptPlan() {
  const { branch } = usePerson();
  const { order = "" } = useParams<{ order: string }>();
  return branch === "" ? <NoBranch question={question} /> : <Kept branch={branch} id={order} />;
}

function Kept({ branch, id }: { branch: string; id: string }) {
  const units = useUnits();
  const name = orderName(branch, id);
  const kept = useSaved(OrdersService.method.getOrder, { name }, `order:${name}`);
  const { order, plan } = kept.data ?? {};
  return (
    <Screen
      question={question}
      state={{
        network: kept.network,
        ...(kept.asOf === undefined ? {} : { asOf: kept.asOf }),
        ...(plan ? { revision: `release ${plan.release}` } : {}),
      }}
      {...(order
        ? {
            lead: `${order.title || "Plan"}${order.createTime ? `, kept ${showInstant(Number(order.createTime.seconds) * 1_000, units.locale)}` : ""}`,
          }
        : {})}
    >
      {!kept.data && !kept.fault && <Loading what="the plan" rows={6} />}
      {!kept.data && kept.fault && (
        <Failure
          fault={kept.fault}
          title="The plan could not be loaded"
          onRetry={kept.retry}
          retrying={kept.retrying}
        >
          <ButtonLink to={paths.bench}>Go to the bench</ButtonLink>
        </Failure>
      )}
      {order && plan && (
        <>
          <Actions>
            {plan.layouts.map((layout, at) => (
              <ButtonLink
                key={`${layout.film} ${layout.colour}`}
                kind={at === 0 ? "main" : "quiet"}
                to={withQuery(paths.steps(id), { layout: at || undefined })}
              >
                {plan.layouts.length === 1 ? "Start" : `Start ${layout.filmTitle}, ${layout.colour}`}
              </ButtonLink>
            ))}
            <ButtonLink to={paths.outcome(id)}>Outcome</ButtonLink>
            <ButtonLink to={withQuery(paths.newPlan, { again: id })}>Plan it again</ButtonLink>
          </Actions>
          {plan.layouts.map((layout, at) =>
            (layout.cuts.length > 1 ? layout.cuts : [layout]).map((_, cut) => (
              <CutFiles
                key={`${layout.film} ${layout.colour} ${cut}`}
                order={name}
                at={at}
                cut={cut}
                layout={layout}
              />
            )),
          )}
          <PlanView plan={plan} order={order} />
          <LastRuns branch={branch} order={name} />
        </>
      )}
    </Screen>
  );
}

const formats = [
  { format: CutFormat.SVG, words: "Save as SVG" },
  { format: CutFormat.HPGL, words: "Save as HP-GL" },
  { format: CutFormat.DXF, words: "Save as DXF" },
  { format: CutFormat.PDF, words: "Save as PDF" },
  { format: CutFormat.PNG, words: "PNG preview" },
] as const;

function CutFiles({ order, at, cut, layout }: { order: string; at: number; cut: number; layout: Layout }) {
  const transport = useTransport();
  const [status, setStatus] = useState("");
  const [fault, setFault] = useState<Fault | null>(null);
  const [pending, setPending] = useState<CutFormat | null>(null);
  async function save(format: CutFormat) {
    setPending(format);
    setFault(null);
    try {
      const client = createClient(OrdersService, transport);
      const file = await client.getCutFile({ order, layout: at, cut, format });
      saveFile(file.fileName, new Blob([new Uint8Array(file.content)], { type: file.mediaType }));
      setStatus(
        format === CutFormat.PNG
          ? `Saved ${file.fileName}: a picture to look at, mirrored as it is cut. It can not be cut by.`
          : `Saved ${file.fileName}. It is mirrored already: do not mirror it again at the cutter.`,
      );
    } catch (error) {
      setFault(faultOf(error));
    } finally {
      setPending(null);
    }
  }
  return (
    <Part
      title={`Cut file: ${layout.filmTitle}, ${layout.colour}${layout.cuts.length > 1 ? `, cut ${cut + 1}` : ""}`}
    >
      <div className={styles.files}>
        {formats.map(({ format, words }) => (
          <Button
            key={words}
            pending={pending === format}
            pendingWords="Writing…"
            onClick={() => void save(format)}
          >
            {words}
          </Button>
        ))}
      </div>
      <Status>{status}</Status>
      {fault && <Failure fault={fault} title="The cut file could not be written" />}
    </Part>
  );
}
