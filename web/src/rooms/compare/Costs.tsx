import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Figure, Figures, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import {
  type Amount,
  type BranchCost,
  type CompareCostsResponse,
  CompareService,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showMoney, showWhole } from "../../units/money.ts";
import { Answered } from "./Answered.tsx";
import { Held } from "./Held.tsx";
import { IntervalRows } from "./IntervalRows.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, type Span, spanOf } from "./view.ts";

/** Costs says what reprints and avoidable film loss cost each branch, in its own currency. */
export default function Costs() {
  const { search, today, daysOf, show } = useAddress();
  const network = useNetwork();
  const span = spanOf(search, today);
  const answer = useQuery(CompareService.method.compareCosts, asked(span), {
    placeholderData: keepPreviousData,
  });
  const hold = (days: Span) => show(querySpan(days, today));
  const { data } = answer;
  return (
    <Screen
      question="What do losses cost?"
      state={{ network, revision: daysOf(span), ...(data && { asOf: answer.dataUpdatedAt }) }}
      lead={data?.finding}
      aside={<Held span={span} answered={data?.asOf} onHold={(asOf) => hold({ ...span, asOf })} />}
    >
      <Answered query={answer} what="the costs" failed="The costs could not be worked out">
        {(costs) =>
          costs.costs.length === 0 ? (
            <Empty title="No branch sent anything in these days.">
              <p>Choose other days, or take a filter off.</p>
            </Empty>
          ) : (
            <Report costs={costs} span={span} query={querySpan({ ...span, market: "" }, today)} />
          )
        }
      </Answered>
      <Part title="Days and filters">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["film", "fabric", "market"]}
          onShow={hold}
        />
        {data && <p>{data.method}</p>}
      </Part>
    </Screen>
  );
}

type ReportProps = { costs: CompareCostsResponse; span: Span; query: Record<string, string> };

function Report({ costs, span, query }: ReportProps) {
  const { locale, number } = useUnits();
  const money = (minor: bigint, currency: string) => showMoney({ minor, currency }, locale);
  const limits = (amount: Amount | undefined, currency: string) =>
    amount
      ? `${money(amount.minor, currency)} (${money(amount.lowMinor, currency)} to ${money(amount.highMinor, currency)})`
      : "–";
  return (
    <>
      <Figures>
        {costs.totals.map((total) => (
          <Figure
            key={total.currency}
            words={`Reprints, ${total.branchesCount} ${total.branchesCount === 1 ? "branch" : "branches"}`}
            number={money(total.reprintsMinor, total.currency)}
            note={`and ${money(total.filmLossMinor, total.currency)} of film beyond the plans`}
          />
        ))}
      </Figures>
      {costs.totals.map(({ currency }) => (
        <IntervalRows
          key={currency}
          finding={`Reprints beyond what the work explains, in ${currency}`}
          name={`costs-${currency}-${span.toDay}`}
          axis={`${currency}, 95 % limits; below 0 is better`}
          show={(value) => showWhole({ minor: BigInt(Math.round(value)), currency }, locale)}
          centre={{ value: 0, words: "as expected" }}
          limits={costs.caveat}
          rows={costs.costs
            .filter((cost) => cost.currency === currency && cost.reprintsBeyond !== undefined)
            .map((cost) => ({
              key: cost.branch,
              title: cost.title,
              value: Number(cost.reprintsBeyond?.minor ?? 0n),
              low: Number(cost.reprintsBeyond?.lowMinor ?? 0n),
              high: Number(cost.reprintsBeyond?.highMinor ?? 0n),
              shape:
                (cost.reprintsBeyond?.lowMinor ?? 0n) > 0n
                  ? "up"
                  : (cost.reprintsBeyond?.highMinor ?? 0n) < 0n
                    ? "down"
                    : "full",
            }))}
          numbers={{
            columns: [
              { words: "Branch" },
              { words: "Reprints" },
              { words: `Cost (smallest unit of ${currency})` },
              { words: "Beyond the work" },
              { words: "Low 95 %" },
              { words: "High 95 %" },
              { words: "Film beyond the plans" },
              { words: "Share priced", digits: 3 },
            ],
            rows: costs.costs
              .filter((cost) => cost.currency === currency)
              .map((c) => [
                c.title,
                c.reprintsCount,
                c.reprints?.minor ?? null,
                c.reprintsBeyond?.minor ?? null,
                c.reprintsBeyond?.lowMinor ?? null,
                c.reprintsBeyond?.highMinor ?? null,
                c.filmLoss?.minor ?? null,
                c.priced,
              ]),
          }}
        />
      ))}
      <Table<BranchCost>
        caption="Every branch, in its own currency"
        rows={costs.costs}
        keyOf={({ branch, title }) => branch || title}
        locale={locale}
        columns={[
          {
            key: "branch",
            words: "Branch",
            heads: true,
            sortBy: ({ title }) => title,
            cell: (c) => <Link href={withQuery(paths.branch(lastPart(c.branch)), query)}>{c.title}</Link>,
          },
          {
            key: "reprints",
            words: "Reprints (95 % limits)",
            figure: true,
            cell: (c) => limits(c.reprints, c.currency),
          },
          {
            key: "beyond",
            words: "Of these beyond the work",
            figure: true,
            cell: (c) => limits(c.reprintsBeyond, c.currency),
          },
          {
            key: "film",
            words: "Film beyond the plans",
            figure: true,
            cell: (c) => limits(c.filmLoss, c.currency),
          },
          {
            key: "priced",
            words: "Cost known for",
            figure: true,
            sortBy: ({ priced }) => priced,
            cell: (c) => `${number(c.priced * 100, 0)} % of film`,
          },
        ]}
      />
    </>
  );
}
