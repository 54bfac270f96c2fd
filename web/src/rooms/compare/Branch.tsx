import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import type { ReactNode } from "react";
import { Link, useParams } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Figure, Figures, Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import {
  CompareService,
  type GetBranchReportResponse,
  type Standing,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { CauseBars } from "./CauseBars.tsx";
import { chartingOf, queryCharting } from "./charting.ts";
import { FilmLoss } from "./FilmLoss.tsx";
import { Held } from "./Held.tsx";
import { MethodLinks } from "./Methods.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { Strata } from "./Strata.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, spanOf } from "./view.ts";
import { When } from "./When.tsx";
import { markWords, signOf } from "./words.ts";

/** Branch looks into one branch: when did it change, where did film and garments go. */
export default function Branch() {
  const { branch = "" } = useParams<{ branch: string }>();
  const { search, today, daysOf, show } = useAddress();
  const span = { ...spanOf(search, today), market: "" };
  const { charting, period } = chartingOf(search);
  const network = useNetwork();
  const answer = useQuery(
    CompareService.method.getBranchReport,
    { branch: `branches/${branch}`, ...asked(span) },
    { placeholderData: keepPreviousData },
  );
  const data = answer.data;
  const title = data?.reprints?.title || data?.yield?.title || branch;
  return (
    <Screen
      question={`What happened at ${title}?`}
      state={{
        network,
        revision: daysOf(span),
        ...(data && { asOf: answer.dataUpdatedAt }),
      }}
      lead={data?.finding}
      aside={
        <>
          <Link href={withQuery(paths.fairView, querySpan(span, today))}>All branches</Link>
          <Link href={withQuery(paths.pack(branch), querySpan(span, today))}>Pack for a visit</Link>
          <Held
            span={span}
            answered={data?.asOf}
            onHold={(asOf) =>
              show({ ...querySpan({ ...span, asOf }, today), ...queryCharting(charting, period) })
            }
          />
        </>
      }
    >
      <Answered query={answer} what="the branch" failed="The branch could not be looked into">
        {(report) => (
          <Report
            report={report}
            name={branch}
            when={
              <When
                branch={`branches/${branch}`}
                record=""
                span={span}
                charting={charting}
                period={period}
                name={`${branch}-${charting}`}
                onChart={(...chosen) => show({ ...querySpan(span, today), ...queryCharting(...chosen) })}
              />
            }
          />
        )}
      </Answered>
      <Part title="Days and filters">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric"]}
          onShow={(chosen) => show({ ...querySpan(chosen, today), ...queryCharting(charting, period) })}
        />
        {data && <MethodLinks words={data.method} keys={data.methodKeys} />}
      </Part>
    </Screen>
  );
}

type ReportProps = {
  report: GetBranchReportResponse;
  name: string;
  /** The chart that says when it changed. */
  when: ReactNode;
};

/** Report is everything about one branch; the pack for a visit prints the same. */
export function Report({ report, name, when }: ReportProps) {
  const units = useUnits();
  const percent = (share: number, digits: number) => units.number(share * 100, digits);
  const stands = (standing: Standing) => `${signOf(standing.mark)} ${markWords[standing.mark]}`;
  const { reprints, yield: use } = report;
  if (report.chart.length === 0 && report.losses.every((loss) => loss.areaMm2 === 0n))
    return (
      <Empty title="This branch sent nothing in these days.">
        <p>Choose other days, or ask the branch whether its tablet still waits to send.</p>
      </Empty>
    );
  return (
    <>
      <Figures>
        {reprints && (
          <Figure
            words="Reprints per piece"
            number={percent(reprints.rate, 2)}
            unit="%"
            note={`${units.count(reprints.reprintsCount)} in ${units.count(reprints.piecesCount)} pieces; ${stands(reprints)}${lateWords(reprints, units.count)}`}
          />
        )}
        {use && (
          <Figure
            words="Yield"
            number={percent(use.rate, 1)}
            unit="%"
            note={`of film drawn; ${stands(use)}`}
          />
        )}
      </Figures>
      <Part title="When did it change?">{when}</Part>
      {report.losses.length > 0 && (
        <Part title="Where did the film go?">
          <FilmLoss losses={report.losses} name={`${name}-film`} />
        </Part>
      )}
      <Part title="Why were pieces made again?">
        {report.causes.length > 0 ? (
          <CauseBars causes={report.causes} name={`${name}-causes`} />
        ) : (
          <Empty title="No reprint was recorded in these days.">
            <p>That may be good work, or reprints that nobody reported.</p>
          </Empty>
        )}
      </Part>
      <Part title="Which films and fabrics stand out?">
        {report.strata.length > 0 ? (
          <Strata strata={report.strata} name={`${name}-films`} />
        ) : (
          <p>None: every film and fabric here stays within what chance allows.</p>
        )}
      </Part>
    </>
  );
}

/** lateWords says what is known about how complete the reports are. */
function lateWords(standing: Standing, count: (n: bigint) => string): string {
  const said = [
    standing.lateCount > 0n && `${count(standing.lateCount)} of ${count(standing.runsCount)} runs came late`,
    standing.correctedCount > 0n && `${count(standing.correctedCount)} were corrected`,
  ].filter((part) => part !== false);
  return said.length === 0 ? "" : `; ${said.join(", ")}`;
}
