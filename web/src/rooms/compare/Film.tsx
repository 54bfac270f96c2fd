import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { Link } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import { CompareService, Mark, Metric } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { Silent } from "./Silent.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { StandingTable } from "./StandingTable.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, queryView, spanOf, type View, viewOf } from "./view.ts";
import { YieldRows } from "./YieldRows.tsx";

/** Film sets the yield of every branch as recorded side by side; each branch's own page says where its film went. */
export default function Film() {
  const { search, today, daysOf, show } = useAddress();
  const view = viewOf(search, today);
  const network = useNetwork();
  const span = spanOf(search, today);
  const answer = useQuery(
    CompareService.method.compareBranches,
    { metric: Metric.YIELD, mixAdjusted: false, ...asked(span) },
    { placeholderData: keepPreviousData },
  );
  const change = (part: Partial<View>) => show(queryView({ ...view, ...part }, today));
  const data = answer.data;
  return (
    <Screen
      question="Where does the film go?"
      state={{
        network,
        revision: daysOf(span),
        ...(data && { asOf: answer.dataUpdatedAt }),
      }}
      lead="Yield is decorated film area on good garments ÷ film area drawn. Open a branch to see where the rest went."
    >
      <Answered query={answer} what="the use of film" failed="The use of film could not be worked out">
        {(use) =>
          use.standings.some((standing) => standing.mark !== Mark.SILENT) ? (
            <YieldRows answer={use} mixAdjusted={false} name={`film-use-${span.toDay}`} />
          ) : (
            <Empty title="No branch drew film in these days.">
              <p>Choose other days, or take a filter off.</p>
            </Empty>
          )
        }
      </Answered>
      {span.film !== "" && (
        <p>
          <Link href={withQuery(paths.film(span.film), querySpan({ ...span, film: "" }, today))}>
            Everything about {span.film}
          </Link>
          : reprints, causes and fabrics.
        </p>
      )}
      {data && <Silent standings={data.standings} />}
      {data && data.standings.length > 0 && (
        <StandingTable
          metric={Metric.YIELD}
          standings={data.standings}
          sort={view.sort}
          onSort={(chosen) => change({ sort: chosen })}
          query={querySpan({ ...span, market: "" }, today)}
        />
      )}
      <Part title="Days and filters">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric", "market"]}
          onShow={change}
        />
        {data && <p>{data.method}</p>}
      </Part>
    </Screen>
  );
}
