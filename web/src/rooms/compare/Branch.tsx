import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { Link, useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Figure, Figures, Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import {
  CompareService,
  type GetBranchReportResponse,
  type Standing,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { CauseBars } from "./CauseBars.tsx";
import { ControlChart } from "./ControlChart.tsx";
import { FilmLoss } from "./FilmLoss.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { Strata } from "./Strata.tsx";
import { useAddress } from "./useAddress.ts";
import { querySpan, type Span, spanOf } from "./view.ts";
import { markWords, signOf } from "./words.ts";

/** Branch looks into one branch: when did it change, where did film and garments go. */
export default function Branch() {
  const { branch = "" } = useParams<{ branch: string }>();
  const { search, today, daysOf, show } = useAddress();
  const span = { ...spanOf(search, today), market: "" };
  const network = useNetwork();
  const answer = useQuery(
    CompareService.method.getBranchReport,
    { branch: `branches/${branch}`, span },
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
      aside={<Link href={withQuery(paths.fairView, querySpan(span, today))}>All branches</Link>}
    >
      {answer.error && (
        <Failure
          fault={faultOf(answer.error)}
          title="The branch could not be looked into"
          onRetry={() => void answer.refetch()}
          retrying={answer.isFetching}
        />
      )}
      {answer.isPending && <Loading what="the branch" rows={8} />}
      {data && <Report report={data} span={span} name={branch} />}
      <Part title="Days and filters">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric"]}
          onShow={(chosen) => show(querySpan(chosen, today))}
        />
        {data && <p>{data.method}</p>}
      </Part>
    </Screen>
  );
}

function Report({ report, span, name }: { report: GetBranchReportResponse; span: Span; name: string }) {
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
            note={`${units.count(reprints.reprintsCount)} in ${units.count(reprints.piecesCount)} pieces; ${stands(reprints)}`}
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
      {report.chart.length > 0 && (
        <Part title="When did it change?">
          <ControlChart points={report.chart} releases={report.releases} span={span} name={`${name}-weeks`} />
        </Part>
      )}
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
