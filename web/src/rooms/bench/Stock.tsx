import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useMemo } from "react";
import { useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Roll as RollDrawing } from "../../kit/drawings/Roll.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import { type Roll, StockService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import { NoBranch } from "./NoBranch.tsx";
import { CountRoll, ReceiveRoll } from "./StockForms.tsx";
import { useSaved } from "./saved.ts";
import { openSheet } from "./sheet.ts";

const question = "Which film do we have?";

/** Stock lists rolls and remnants, takes new ones in, and corrects a length after a count. */
export default function Stock() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Rolls branch={branch} />;
}

function Rolls({ branch }: { branch: string }) {
  const units = useUnits();
  const queries = useQueryClient();
  const [search, setSearch] = useSearchParams();
  const rolls = useSaved(StockService.method.listRolls, { branch }, `rolls:${branch}`);
  const pulled = useQuery(CatalogService.method.pullSheet, { branch, heldRelease: 0n });
  const films = useMemo(() => {
    const recipes = pulled.data ? [...openSheet(pulled.data).recipes.values()] : [];
    return [...new Map(recipes.flatMap(({ film }) => (film ? [[film.code, film] as const] : []))).values()];
  }, [pulled.data]);
  const receive = useMutation(StockService.method.receiveRoll);
  const move = useMutation(StockService.method.moveRoll);
  const all = rolls.data?.rolls ?? [];
  const counting = all.find(({ name }) => name === search.get("count"));
  const titleOf = (code: string) => films.find((film) => film.code === code)?.title ?? code;
  const fresh = () => void queries.invalidateQueries();
  const last = receive.data?.roll ?? move.data?.roll;
  return (
    <Screen
      question={question}
      state={{ network: rolls.network, ...(rolls.asOf === undefined ? {} : { asOf: rolls.asOf }) }}
    >
      {!rolls.data && !rolls.fault && <Loading what="the rolls" rows={6} />}
      {!rolls.data && rolls.fault && (
        <Failure
          fault={rolls.fault}
          title="The rolls could not be loaded"
          onRetry={rolls.retry}
          retrying={rolls.retrying}
        />
      )}
      {rolls.data && all.length === 0 && (
        <Empty title="No film in stock yet." picture={<RollDrawing left={0.1} />}>
          <p>Take the first roll in below; plans then say which roll to use.</p>
        </Empty>
      )}
      {all.length > 0 && (
        <Table<Roll>
          caption="Rolls and remnants"
          quietCaption
          rows={all}
          keyOf={(roll) => roll.name}
          locale={units.locale}
          columns={[
            {
              key: "film",
              words: "Film",
              heads: true,
              cell: (roll) => `${titleOf(roll.film)}, ${roll.colour}${roll.remnant ? " (remnant)" : ""}`,
              sortBy: (roll) => `${roll.film} ${roll.colour}`,
            },
            {
              key: "left",
              words: "Left",
              figure: true,
              cell: (roll) => units.show("rollLength", millimetres(roll.lengthMm)),
              sortBy: (roll) => roll.lengthMm,
            },
            {
              key: "width",
              words: "Width",
              figure: true,
              cell: (roll) => units.show("length", millimetres(roll.widthMm)),
              sortBy: (roll) => roll.widthMm,
            },
            { key: "lot", words: "Lot", cell: (roll) => roll.lot || "–", sortBy: (roll) => roll.lot },
            { key: "place", words: "Place", cell: (roll) => roll.place || "–", sortBy: (roll) => roll.place },
            {
              key: "count",
              words: "Count",
              cell: (roll) => (
                <Button kind="plain" onClick={() => setSearch({ count: roll.name })}>
                  Count
                  <span className="unseen">
                    {" "}
                    {roll.film} {roll.colour} {lastPart(roll.name)}
                  </span>
                </Button>
              ),
            },
          ]}
        />
      )}
      {counting && (
        <Part title={`How much is left of ${titleOf(counting.film)}, ${counting.colour}?`}>
          <CountRoll
            key={counting.name}
            roll={counting}
            pending={move.isPending}
            fault={move.error ? faultOf(move.error) : null}
            onCount={async (request) => {
              await move.mutateAsync(request);
              setSearch({});
              fresh();
            }}
          />
          <Actions>
            <Button kind="plain" onClick={() => setSearch({})}>
              Leave it as it is
            </Button>
          </Actions>
        </Part>
      )}
      <Status>
        {last
          ? `Stored: ${titleOf(last.film)}, ${last.colour}, ${units.show("rollLength", millimetres(last.lengthMm))}.`
          : ""}
      </Status>
      <Part title="Take a roll in">
        <ReceiveRoll
          key={receive.data?.roll?.name ?? "first"}
          branch={branch}
          films={films}
          pending={receive.isPending}
          fault={receive.error ? faultOf(receive.error) : null}
          onReceive={async (request) => {
            await receive.mutateAsync(request);
            fresh();
          }}
        />
      </Part>
    </Screen>
  );
}
