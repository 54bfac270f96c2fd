import { useInfiniteQuery } from "@connectrpc/connect-query";
import { Link } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords, withQuery } from "../../app/paths.ts";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Remnant } from "../../kit/drawings/Remnant.tsx";
import { Roll as RollDrawing } from "../../kit/drawings/Roll.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Facts, Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import {
  type Movement,
  type Pace,
  type Roll,
  StockService,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import { CountForm, DiametersForm, RemnantForm, WasteForm } from "./RollForms.tsx";
import { fullMm } from "./shelves.ts";
import styles from "./stock.module.css";

type OneRollProps = {
  branch: string;
  roll: Roll;
  title: string;
  pace: Pace | undefined;
  act: string;
  onAct: (act: string) => void;
  onStored: (words: string) => void;
  onClose: () => void;
};

const acts = [
  { act: "count", words: "Count it" },
  { act: "remnant", words: "Cut a remnant off" },
  { act: "waste", words: "Note film spoilt" },
  { act: "diameters", words: "Estimate by its diameters" },
] as const;

const why: Record<string, string> = {
  receive: "Taken in",
  draw: "Drawn for an order",
  count: "Counted",
  waste: "Spoilt",
  return: "Put back",
  remnant: "Remnant cut",
};

const rollPath = (name: string) => withQuery(paths.stock, { roll: lastPart(name) });

/** OneRoll shows one roll: what is left, where it lies, what may be done with it, and everything that happened to it. */
export function OneRoll({ branch, roll, title, pace, act, onAct, onStored, onClose }: OneRollProps) {
  const units = useUnits();
  const length = (mm: bigint) => units.show("rollLength", millimetres(mm));
  const done = (words: string) => {
    onStored(words);
    onAct("");
  };
  return (
    <Part
      title={`${title}, ${roll.colour}: ${length(roll.lengthMm)} left`}
      aside={
        <Button kind="plain" onClick={onClose}>
          Close
        </Button>
      }
    >
      <div className={styles.one}>
        {roll.remnant ? (
          <Remnant width={Number(roll.widthMm)} length={Number(roll.lengthMm)} />
        ) : (
          <RollDrawing left={Number(roll.lengthMm) / fullMm([roll])} />
        )}
        <Facts
          facts={[
            { words: "Kind", value: roll.remnant ? "Remnant" : "Roll" },
            { words: "Width", value: units.show("length", millimetres(roll.widthMm)) },
            { words: "Lot", value: roll.lot || "not noted" },
            { words: "Place", value: roll.place || "not noted" },
            ...(pace ? [{ words: "At this pace", value: pace.words }] : []),
            ...(roll.cutFrom
              ? [{ words: "Cut from", value: <Link href={rollPath(roll.cutFrom)}>see the roll</Link> }]
              : []),
          ]}
        />
      </div>
      <Actions>
        {acts.map((offered) => (
          <Button
            key={offered.act}
            kind="quiet"
            aria-expanded={act === offered.act}
            onClick={() => onAct(act === offered.act ? "" : offered.act)}
          >
            {offered.words}
          </Button>
        ))}
      </Actions>
      {act === "count" && <CountForm roll={roll} onStored={done} />}
      {act === "remnant" && <RemnantForm roll={roll} onStored={done} />}
      {act === "waste" && <WasteForm roll={roll} onStored={done} />}
      {act === "diameters" && <DiametersForm branch={branch} roll={roll} onCount={() => onAct("count")} />}
      <Movements roll={roll} />
    </Part>
  );
}

function Movements({ roll }: { roll: Roll }) {
  const units = useUnits();
  const query = useInfiniteQuery(
    StockService.method.listMovements,
    { of: roll.name, pageToken: "" },
    { pageParamKey: "pageToken", getNextPageParam: (page) => page.nextPageToken || undefined },
  );
  if (query.error && !query.data)
    return (
      <Failure
        fault={faultOf(query.error)}
        title="What happened to this roll could not be loaded"
        onRetry={() => void query.refetch()}
        retrying={query.isFetching}
      />
    );
  if (!query.data) return <Loading what="its movements" rows={3} />;
  const day = new Intl.DateTimeFormat(units.locale, { dateStyle: "medium", timeStyle: "short" });
  return (
    <>
      <Table<Movement>
        caption="Everything that happened to it, newest first"
        rows={query.data.pages.flatMap(({ movements }) => movements)}
        keyOf={({ id, roll: of }) => of + id}
        locale={units.locale}
        columns={[
          {
            key: "when",
            words: "When",
            cell: ({ makeTime }) => (makeTime ? day.format(Number(makeTime.seconds) * 1000) : "–"),
          },
          {
            key: "what",
            words: "What",
            heads: true,
            cell: (moved) => (
              <>
                {why[moved.why] ?? moved.why}
                {moved.otherRoll && (
                  <>
                    {": "}
                    <Link href={rollPath(moved.otherRoll)}>see the other piece</Link>
                  </>
                )}
              </>
            ),
          },
          {
            key: "change",
            words: "Change",
            figure: true,
            cell: ({ changeMm }) => units.change("rollLength", millimetres(changeMm)),
          },
          {
            key: "left",
            words: "Left",
            figure: true,
            cell: ({ leftMm }) => units.show("rollLength", millimetres(leftMm)),
          },
          { key: "who", words: "Who", cell: ({ person }) => personWords(person) },
        ]}
      />
      {query.hasNextPage && (
        <Actions>
          <Button pending={query.isFetchingNextPage} onClick={() => void query.fetchNextPage()}>
            Show earlier ones
          </Button>
        </Actions>
      )}
    </>
  );
}
