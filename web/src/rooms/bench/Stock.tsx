import { useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useMemo, useState } from "react";
import { useSearchParams } from "wouter";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { Roll as RollDrawing } from "../../kit/drawings/Roll.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading, Status } from "../../kit/Waiting.tsx";
import { StockService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { NoBranch } from "./NoBranch.tsx";
import { OneRoll } from "./OneRoll.tsx";
import { ReceiveRoll } from "./ReceiveRoll.tsx";
import { Shelf } from "./Shelf.tsx";
import { useSaved } from "./saved.ts";
import { openSheet } from "./sheet.ts";
import { paceOf, shelves } from "./shelves.ts";

const question = "Which film do we have?";

/** Stock draws what is left of every film, says what runs low, and keeps every movement of a roll. */
export default function Stock() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Rolls branch={branch} />;
}

function Rolls({ branch }: { branch: string }) {
  const queries = useQueryClient();
  const [search, setSearch] = useSearchParams();
  const [done, setDone] = useState("");
  const rolls = useSaved(StockService.method.listRolls, { branch }, `rolls:${branch}`);
  const pulled = useQuery(CatalogService.method.pullSheet, { branch, heldRelease: 0n });
  const films = useMemo(() => {
    const recipes = pulled.data ? [...openSheet(pulled.data).recipes.values()] : [];
    return [...new Map(recipes.flatMap(({ film }) => (film ? [[film.code, film] as const] : []))).values()];
  }, [pulled.data]);
  const titleOf = (code: string) => films.find((film) => film.code === code)?.title ?? code;
  const all = rolls.data?.rolls ?? [];
  const paces = rolls.data?.paces ?? [];
  const groups = shelves(all, titleOf);
  const low = paces.filter((pace) => pace.low);
  const chosen = all.find(({ name }) => name.endsWith(`/${search.get("roll")}`));
  const stored = (words: string) => {
    setDone(words);
    void queries.invalidateQueries();
  };
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
      {low.length > 0 && (
        <Notice kind="caution" title={low.length === 1 ? "One film runs low" : `${low.length} films run low`}>
          <ul>
            {low.map(({ film, colour, words }) => (
              <li key={`${film} ${colour}`}>
                {titleOf(film)}, {colour}: {words}
              </li>
            ))}
          </ul>
        </Notice>
      )}
      <Status>{done}</Status>
      {chosen && (
        <OneRoll
          key={chosen.name}
          branch={branch}
          roll={chosen}
          title={titleOf(chosen.film)}
          pace={paceOf(chosen, paces)}
          act={search.get("do") ?? ""}
          onAct={(act) =>
            setSearch(
              act === "" ? { roll: search.get("roll") ?? "" } : { roll: search.get("roll") ?? "", do: act },
            )
          }
          onStored={stored}
          onClose={() => setSearch({})}
        />
      )}
      {rolls.data &&
        (search.get("take") === "in" ? (
          <Part title="Take a roll in">
            <ReceiveRoll branch={branch} films={films} onStored={stored} />
            <Actions>
              <Button kind="plain" onClick={() => setSearch({})}>
                Close
              </Button>
            </Actions>
          </Part>
        ) : (
          <Actions>
            <Button kind={chosen ? "quiet" : "main"} onClick={() => setSearch({ take: "in" })}>
              Take a roll in
            </Button>
          </Actions>
        ))}
      {groups.length > 0 && (
        <Part title="On the shelves">
          {groups.map((group) => (
            <Shelf key={group.film} shelf={group} paces={paces} chosen={chosen?.name ?? ""} />
          ))}
        </Part>
      )}
    </Screen>
  );
}
