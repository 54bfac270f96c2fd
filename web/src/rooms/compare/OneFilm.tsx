import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { Link, useParams } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import {
  CompareService,
  type GetFilmReportResponse,
  Mark,
  type Standing,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { CauseBars } from "./CauseBars.tsx";
import { FilmLoss } from "./FilmLoss.tsx";
import { Held } from "./Held.tsx";
import { IntervalRows } from "./IntervalRows.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { Strata } from "./Strata.tsx";
import { standingNumbers } from "./standingNumbers.ts";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, spanOf } from "./view.ts";
import { shapeOf, titleOf } from "./words.ts";

/** OneFilm sets the branches side by side in one film: where it goes, why pieces were made again, on which fabric. */
export default function OneFilm() {
  const { film = "" } = useParams<{ film: string }>();
  const { search, today, daysOf, show } = useAddress();
  const network = useNetwork();
  const span = { ...spanOf(search, today), film: "" };
  const answer = useQuery(
    CompareService.method.getFilmReport,
    { film, ...asked(span) },
    { placeholderData: keepPreviousData },
  );
  const { data } = answer;
  return (
    <Screen
      question={`How does ${film} do?`}
      state={{ network, revision: daysOf(span), ...(data && { asOf: answer.dataUpdatedAt }) }}
      lead={data?.finding}
      aside={
        <>
          <Link href={withQuery(paths.filmLoss, querySpan(span, today))}>All films</Link>
          <Held
            span={span}
            answered={data?.asOf}
            onHold={(asOf) => show(querySpan({ ...span, asOf }, today))}
          />
        </>
      }
    >
      <Answered query={answer} what="the film" failed="The film could not be looked into">
        {(report) =>
          report.reprints.every(({ mark }) => mark === Mark.SILENT) ? (
            <Empty title="Nobody worked with this film in these days.">
              <p>Choose other days, or check its code.</p>
            </Empty>
          ) : (
            <Report report={report} film={film} />
          )
        }
      </Answered>
      <Part title="Days and filters">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["fabric", "market"]}
          onShow={(days) => show(querySpan(days, today))}
        />
        {data && <p>{data.method}</p>}
      </Part>
    </Screen>
  );
}

function Report({ report, film }: { report: GetFilmReportResponse; film: string }) {
  const units = useUnits();
  const rows = (standings: readonly Standing[]) =>
    standings
      .filter(({ mark }) => mark !== Mark.SILENT)
      .map((standing, at) => ({
        key: standing.branch || String(at),
        title: titleOf(standing),
        value: standing.ratio,
        low: standing.ratioLow,
        high: standing.ratioHigh,
        shape: shapeOf(standing.mark),
      }));
  const shared = {
    show: (value: number) => units.number(value, 1),
    centre: { value: 1, words: "all branches" },
  };
  return (
    <>
      <IntervalRows
        {...shared}
        finding={`Reprints with ${film}, against what this work has everywhere`}
        name={`${film}-reprints`}
        axis="Reprints ÷ expected, 95 % limits"
        rows={rows(report.reprints)}
        numbers={standingNumbers(report.reprints)}
      />
      <IntervalRows
        {...shared}
        centre={{ value: 1, words: "as planned" }}
        show={(value) => units.number(value, 2)}
        finding={`Yield with ${film}, against what the plans needed`}
        name={`${film}-yield`}
        axis="Yield ÷ what the plans needed, 95 % limits"
        rows={rows(report.yields).filter(({ value }) => value > 0)}
        numbers={standingNumbers(report.yields)}
      />
      {report.losses.length > 0 && (
        <Part title="Where did it go?">
          <FilmLoss losses={report.losses} name={`${film}-film`} against="all films" />
        </Part>
      )}
      {report.causes.length > 0 && (
        <Part title="Why were pieces made again?">
          <CauseBars causes={report.causes} name={`${film}-causes`} />
        </Part>
      )}
      {report.fabrics.length > 0 && (
        <Part title="On which fabric?">
          <Strata strata={report.fabrics} name={`${film}-fabrics`} />
        </Part>
      )}
    </>
  );
}
