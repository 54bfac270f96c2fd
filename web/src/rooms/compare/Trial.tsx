import { useQuery } from "@connectrpc/connect-query";
import { Link, useParams } from "wouter";
import { paths } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import {
  CompareService,
  type TrialTally,
  type WatchTrialResponse,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { Held } from "./Held.tsx";
import { TrialPicture } from "./TrialPicture.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, showDayOf, spanOf } from "./view.ts";

/** Trial follows a release to a few branches against a rule that was stated before the first piece. */
export default function Trial() {
  const { release = "" } = useParams<{ release: string }>();
  const { search, today, show } = useAddress();
  const network = useNetwork();
  const span = spanOf(search, today);
  const { asOf } = asked(span);
  const number = /^\d{1,15}$/.test(release) ? BigInt(release) : 0n;
  const answer = useQuery(CompareService.method.watchTrial, {
    release: number,
    ...(asOf === undefined ? {} : { asOf }),
  });
  const { data } = answer;
  return (
    <Screen
      question={`Did release ${release} help where it is tried?`}
      state={{ network, ...(data && { asOf: answer.dataUpdatedAt }) }}
      lead={data?.finding}
      aside={
        <>
          <Link href={paths.release(Number(number))}>The release</Link>
          <Held
            span={span}
            answered={data?.asOf}
            onHold={(held) => show(querySpan({ ...span, asOf: held }, today))}
          />
        </>
      }
    >
      <Answered query={answer} what="the trial" failed="The trial could not be followed">
        {(trial) => <Report trial={trial} name={`trial-${release}`} />}
      </Answered>
    </Screen>
  );
}

function Report({ trial, name }: { trial: WatchTrialResponse; name: string }) {
  const units = useUnits();
  const percent = (share: number) => `${units.number(share * 100, 2)} %`;
  const points = (share: number) => units.number(share * 100, 2);
  const tallies = [
    { words: "Trial branches, before", tally: trial.before },
    { words: "Trial branches, since", tally: trial.since },
    { words: "All others, before", tally: trial.controlBefore },
    { words: "All others, since", tally: trial.controlSince },
  ];
  const rate = (tally: TrialTally | undefined) =>
    tally && tally.piecesCount > 0n
      ? `${percent(tally.rate)} (${percent(tally.rateLow)} to ${percent(tally.rateHigh)})`
      : "–";
  return (
    <>
      <Notice kind="info" title="The rule, stated before the first piece">
        <p>{trial.rule}</p>
      </Notice>
      {trial.steps.length > 0 && <TrialPicture trial={trial} name={name} />}
      <Part title="Against the branches that change nothing">
        <Table
          caption="Reprints per piece, 95 % limits"
          rows={tallies}
          keyOf={({ words }) => words}
          locale={units.locale}
          columns={[
            { key: "side", words: "Side", heads: true, cell: ({ words }) => words },
            {
              key: "pieces",
              words: "Pieces",
              figure: true,
              cell: ({ tally }) => units.count(tally?.piecesCount ?? 0n),
            },
            {
              key: "reprints",
              words: "Reprints",
              figure: true,
              cell: ({ tally }) => units.count(tally?.reprintsCount ?? 0n),
            },
            { key: "rate", words: "Per piece", figure: true, cell: ({ tally }) => rate(tally) },
          ]}
        />
        <p>
          Net of what changed everywhere: {points(trial.net)} points ({points(trial.netLow)} to{" "}
          {points(trial.netHigh)}). These limits do not allow for looking more than once; the bounds below do.
        </p>
      </Part>
      {trial.looks.length > 0 && (
        <Part title="The planned looks">
          <Table
            caption="Looks"
            quietCaption
            rows={trial.looks}
            keyOf={({ information }) => String(information)}
            locale={units.locale}
            columns={[
              {
                key: "due",
                words: "Due after",
                heads: true,
                cell: (look) =>
                  `${units.number(look.information * 100, 0)} % of ${units.count(trial.plannedCount)} pieces`,
              },
              {
                key: "day",
                words: "Reached",
                cell: (look) => (look.day === "" ? "still to come" : showDayOf(look.day, units.locale)),
              },
              {
                key: "score",
                words: "Score",
                figure: true,
                cell: (look) => (look.day === "" ? "–" : units.number(look.score, 2)),
              },
              {
                key: "bound",
                words: "Bound",
                figure: true,
                cell: (look) => `±${units.number(look.bound, 2)}`,
              },
              {
                key: "crossed",
                words: "Beyond it",
                cell: (look) => (look.day === "" ? "–" : look.crossed ? "yes: stop" : "no: go on"),
              },
            ]}
          />
        </Part>
      )}
      <p>{trial.method}</p>
    </>
  );
}
