import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useEffect, useMemo, useRef, useState } from "react";
import { useLocation, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { fieldId } from "../../kit/Field.tsx";
import { FileDrop } from "../../kit/FileDrop.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import { BranchesService, MachineKind } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { AskSize } from "./AskSize.tsx";
import { orderName } from "./addresses.ts";
import styles from "./bench.module.css";
import { recordOf, usable } from "./cards.ts";
import { DrawingPicture, FindingList } from "./DrawingPicture.tsx";
import { FilmRows } from "./FilmRows.tsx";
import { GarmentFields } from "./GarmentFields.tsx";
import { keepOf } from "./holding.ts";
import { LayoutDesk } from "./LayoutDesk.tsx";
import { LayRows } from "./LayRows.tsx";
import { NewsLine } from "./NewsLine.tsx";
import { NoBranch } from "./NoBranch.tsx";
import { PlacementFields } from "./PlacementFields.tsx";
import { PlanView } from "./PlanView.tsx";
import { designsOf, settled, sizedDesigns } from "./places.ts";
import { SizeRows } from "./SizeRows.tsx";
import { useSaved } from "./saved.ts";
import { openSheet } from "./sheet.ts";
import { useBench } from "./useBench.ts";
import { useDrawing } from "./useDrawing.ts";
import { useNews } from "./useNews.ts";
import { missing, nothingYet, orderOf, type Wanted, wantedOf } from "./wanted.ts";

const question = "How does it lie on the roll, and how much film?";
const mostBytes = 1 << 20; // orders.v1 ReadDrawingRequest.svg

/** NewPlan puts an order together from a drawing and shows its plan as it grows. */
export default function NewPlan() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Planning branch={branch} />;
}

function Planning({ branch }: { branch: string }) {
  const [search] = useSearchParams();
  const [, go] = useLocation();
  const [said, setWanted] = useState<Wanted>(nothingYet);
  const [attempt, setAttempt] = useState(0);
  const [id] = useState(uuid); // one id for this order, however often Accept is pressed
  const cards = useSaved(BranchesService.method.listCards, { branch }, `cards:${branch}`);
  const machines = useSaved(BranchesService.method.listMachines, { branch }, `machines:${branch}`);
  const places = useSaved(OrdersService.method.listPlacements, { branch }, `placements:${branch}`);
  const wanted = settled(said, places.data);
  const pulled = useQuery(CatalogService.method.pullSheet, { branch, heldRelease: 0n });
  const sheet = useMemo(() => (pulled.data ? openSheet(pulled.data) : undefined), [pulled.data]);
  const news = useNews(branch, cards.data ? Number(cards.data.release) : undefined);
  const file = useDrawing(branch);
  const keep = useMutation(OrdersService.method.createOrder);
  const set = (to: Partial<Wanted>) => setWanted((was) => ({ ...was, ...to }));

  const again = search.get("again");
  const before = useSaved(
    OrdersService.method.getOrder,
    { name: orderName(branch, again ?? "") },
    `order:${orderName(branch, again ?? "")}`,
    again !== null,
  );
  useTaken(before.data?.order, (order) => setWanted(wantedOf(order)));

  // What the address or the machines leave no choice about is chosen already.
  useTaken(again === null ? cards.data : undefined, ({ cards: all }) => {
    const asked = all.find(({ revision }) => recordOf(revision) === `recipes/${search.get("recipe")}`);
    const usual = asked ?? all.find(usable);
    set({
      cutter: search.get("cutter") ?? usual?.cutter ?? "",
      press: search.get("press") ?? usual?.press ?? "",
      films: [{ figure: "", recipe: asked ? recordOf(asked.revision) : "", colour: "" }],
    });
  });

  const unsaid = missing(wanted);
  const order = unsaid.length === 0 ? orderOf(wanted) : null;
  const bench = useBench(branch, order);
  const planFault = bench.fault;
  const keepFault = keep.error ? faultOf(keep.error) : null;
  const fields: readonly FieldFault[] = attempt === 0 ? [] : unsaid;
  const { plan } = bench;
  const findings = plan?.findings ?? file.drawing?.findings ?? [];

  async function accept() {
    setAttempt(attempt + 1);
    if (!order || bench.behind || !plan) return;
    try {
      const kept = await keep.mutateAsync({ branch, order, id, keep: keepOf(bench.stop()) });
      go(paths.plan(lastPart(kept.order?.name ?? id)));
    } catch {
      // shown from keep.error
    }
  }
  return (
    <Screen
      question={question}
      failed={fields.length > 0}
      state={{
        network: cards.network,
        ...(cards.data ? { revision: `release ${cards.data.release}` } : {}),
        ...(cards.asOf === undefined ? {} : { asOf: cards.asOf }),
      }}
    >
      <NewsLine news={news} />
      <ErrorSummary faults={fields} attempt={attempt} />
      {cards.fault && !cards.data && (
        <Failure fault={cards.fault} title="The recipes could not be loaded" onRetry={cards.retry} />
      )}
      {pulled.error && (
        <Failure
          fault={faultOf(pulled.error)}
          title="Colours and garments could not be loaded"
          onRetry={() => void pulled.refetch()}
          retrying={pulled.isFetching}
        />
      )}
      <Part title="The drawing">
        <div id={fieldId("drawing")} tabIndex={-1}>
          <FileDrop
            label={
              wanted.drawing !== "" && !file.fileName
                ? "The drawing of the earlier order"
                : "The drawing to cut"
            }
            hint="SVG, HP-GL or DXF up to 1 MiB, text made into outlines. The file is read and not kept."
            accept=".svg,image/svg+xml,.dxf,.plt,.hpgl"
            mostBytes={mostBytes}
            chosen={file.fileName}
            fault={wordsFor(fields, "drawing")}
            onFile={async (chosen) => {
              const drawing = await file.open(chosen, wanted.films[0]?.recipe ?? "");
              const title = chosen.name.replace(/\.(svg|dxf|plt|hpgl)$/i, "");
              setWanted((was) => ({
                ...was,
                drawing: drawing?.name ?? "",
                title: was.title || title,
                films: was.films.slice(0, 1).map((film) => ({ ...film, figure: "" })),
              }));
            }}
          />
        </div>
        {file.reading && <Loading what="the drawing" />}
        {file.asksSize && (
          <AskSize
            reading={file.reading}
            unitHelps={file.unitHelps}
            onSize={async (size) => {
              const drawing = await file.again({ size, recipe: wanted.films[0]?.recipe ?? "" });
              set({ drawing: drawing?.name ?? "" });
            }}
          />
        )}
        {file.fault && !file.asksSize && <Failure fault={file.fault} title="The drawing could not be read" />}
        {file.drawing && !file.fault && (
          <>
            <DrawingPicture drawing={file.drawing} findings={findings} />
            <FindingList findings={findings} />
          </>
        )}
      </Part>
      <Part title="Film and fabric">
        {!cards.data && !cards.fault && <Loading what="the recipes" />}
        {cards.data && (
          <FilmRows
            films={wanted.films}
            figures={file.drawing?.figures ?? []}
            cards={cards.data.cards}
            sheet={sheet}
            faults={fields}
            onChange={(films) => {
              set({ films });
              const recipe = films[0]?.recipe ?? "";
              // The same outlines are judged by the limits of the film now chosen.
              if (file.drawing && recipe !== wanted.films[0]?.recipe) void file.again({ recipe });
            }}
          />
        )}
      </Part>
      <Part title="Garments">
        <SizeRows sizes={wanted.sizes} faults={fields} onChange={(sizes) => set({ sizes })} />
        <GarmentFields
          wanted={wanted}
          garments={sheet?.priceList?.garments ?? []}
          cutters={machines.data?.machines.filter(({ kind }) => kind === MachineKind.CUTTER) ?? []}
          presses={machines.data?.machines.filter(({ kind }) => kind === MachineKind.PRESS) ?? []}
          faults={fields}
          onChange={set}
        />
        <LayRows lay={wanted.lay} onChange={(lay) => set({ lay })} />
      </Part>
      <Part title="On the garment">
        <PlacementFields
          branch={branch}
          table={places}
          wanted={wanted}
          drawing={file.drawing}
          designs={file.drawing ? sizedDesigns(file.drawing, wanted.sizes) : plan ? designsOf(plan) : []}
          onChange={set}
        />
      </Part>
      <Part title="The plan">
        {unsaid.length > 0 && (
          <Empty title="Not enough is said yet.">
            <ul className={styles.advice}>
              {unsaid.map(({ path, words }) => (
                <li key={path}>{words}</li>
              ))}
            </ul>
          </Empty>
        )}
        {planFault?.reason === "LAYOUT_INVALID" && (
          <Notice kind="caution" title="A design can not be cut where it lies" live>
            <p>
              It is marked: too near to another, or not on the film. Move it, or undo; nothing is kept like
              this.
            </p>
          </Notice>
        )}
        {planFault && planFault.reason !== "LAYOUT_INVALID" && (
          <Failure fault={planFault} title="The plan could not be worked out" onRetry={bench.retry}>
            <FieldWords fields={planFault.fields} />
          </Failure>
        )}
        {order && !plan && !planFault && <Loading what="the plan" rows={6} />}
        {plan && order && (
          <PlanView
            plan={plan}
            order={order}
            desk={(layout, index) => (
              <LayoutDesk
                layout={layout}
                index={index}
                currency={plan.quote?.currencyCode ?? ""}
                bench={bench}
              />
            )}
          />
        )}
        <Status>{order && bench.behind && !planFault ? "Working it out…" : ""}</Status>
      </Part>
      {keepFault && (
        <Failure fault={keepFault} title="The plan was not accepted">
          <FieldWords fields={keepFault.fields} />
        </Failure>
      )}
      {plan && plan.blocks.length > 0 && <Notice kind="block" title={plan.blocks[0]} />}
      <Actions>
        <Button
          kind="main"
          pending={keep.isPending}
          pendingWords="Keeping…"
          because={
            plan && plan.blocks.length > 0
              ? "Something blocks this order; it stands above."
              : planFault?.reason === "LAYOUT_INVALID"
                ? "A design can not be cut where it lies."
                : undefined
          }
          onClick={() => void accept()}
        >
          Accept
        </Button>
      </Actions>
    </Screen>
  );
}

/** useTaken hands the first thing that is there over, once. */
function useTaken<T>(thing: T | undefined, take: (thing: T) => void): void {
  const taken = useRef(false);
  useEffect(() => {
    if (thing === undefined || taken.current) return;
    taken.current = true;
    take(thing);
  });
}

function FieldWords({ fields }: { fields: readonly FieldFault[] }) {
  if (fields.length === 0) return null;
  return (
    <ul className={styles.advice}>
      {fields.map(({ path, words }) => (
        <li key={path + words}>
          {path}: {words}
        </li>
      ))}
    </ul>
  );
}
