import { useQuery } from "@connectrpc/connect-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Actions, Button } from "../../kit/Button.tsx";
import { ChildGarmentNotice } from "../../kit/drawings/Hazard.tsx";
import { Checkbox, Select, TextField } from "../../kit/Field.tsx";
import { ErrorSummary, Failure, Notice } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { ComplianceService, type Finding } from "../../proto/evenpeel/compliance/v1/compliance_service_pb.ts";
import { soldAsText } from "../../units/soldAs.ts";
import styles from "./Papers.module.css";
import { askedIn, inWords, type Typed, typedIn } from "./situation.ts";

const markets = ["EU", "UK", "US", "CA", "AU"].map((value) => ({ value, words: value }));
// The words that the rules know, as the service takes them.
const soldAs = (
  "t-shirt polo shirt hoodie sweatshirt jacket coat trousers shorts skirt dress sportswear workwear underwear socks " +
  "infant-one-piece bib sleep-bag pyjamas nightdress nightshirt bathrobe terry-bathrobe sleepsuit hat gloves scarf " +
  "apron bag costume toy"
)
  .split(" ")
  .map((value) => ({ value, words: soldAsText(value) }));
const fabrics = ["cotton", "polyester", "blend", "nylon", "stretch"].map((value) => ({
  value,
  words: value,
}));
const ownerships = [
  { value: "stock", words: "from our stock" },
  { value: "customer-own-use", words: "the customer’s own, for own use" },
  { value: "customer-for-resale", words: "the customer’s own, to sell on" },
];

type JudgeProps = { view: URLSearchParams; onView: (next: URLSearchParams) => void };

/** Judge asks what rules, notes and certificates say about one situation. The situation stands in the address. */
export function Judge({ view, onView }: JudgeProps) {
  const [typed, setTyped] = useState<Typed>(() => typedIn(view));
  const [attempt, setAttempt] = useState(0);
  const asked = askedIn(view);
  const query = useQuery(
    ComplianceService.method.judge,
    { situation: asked ?? {} },
    { enabled: asked !== null },
  );
  const wrong =
    attempt > 0 && !/^\d{1,4}$/.test(typed.age) && !typed.adult
      ? "Age in months must be a whole number"
      : undefined;
  const set = (change: Partial<Typed>) => setTyped((before) => ({ ...before, ...change }));
  const child = asked !== null && asked.ageMonths >= 0n && asked.ageMonths < 168n;

  function judge() {
    setAttempt((count) => count + 1);
    if (!typed.adult && !/^\d{1,4}$/.test(typed.age)) return;
    onView(inWords(typed, view));
  }

  return (
    <Part title="Judge a situation">
      <p>
        What do rules, notes and certificates say about one garment? The answer is a help, not legal advice;
        local law and accredited laboratories decide.
      </p>
      <ErrorSummary faults={wrong ? [{ path: "age_months", words: wrong }] : []} attempt={attempt} />
      <form
        className={styles.form}
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          judge();
        }}
      >
        <div className={styles.fields}>
          <Select
            label="Market"
            value={typed.market}
            options={markets}
            onChange={(market) => set({ market })}
          />
          <Select
            label="Sold as"
            value={typed.soldAs}
            options={soldAs}
            onChange={(next) => set({ soldAs: next })}
          />
          <Select
            label="Whose garment"
            value={typed.ownership}
            options={ownerships}
            onChange={(ownership) => set({ ownership })}
          />
          <Select
            label="Fabric family"
            value={typed.fabric}
            options={fabrics}
            onChange={(fabric) => set({ fabric })}
          />
          {!typed.adult && (
            <TextField
              label="Youngest age, in months"
              hint="What it is sold for: 36 is three years."
              path="age_months"
              inputMode="numeric"
              value={typed.age}
              onChange={(age) => set({ age })}
              {...(wrong ? { fault: wrong } : {})}
            />
          )}
          <Checkbox label="For adults only" checked={typed.adult} onChange={(adult) => set({ adult })} />
          <TextField
            label="Film code"
            optional
            value={typed.film}
            maxLength={60}
            onChange={(film) => set({ film })}
          />
          <TextField
            label="Film colour"
            optional
            value={typed.colour}
            maxLength={60}
            onChange={(colour) => set({ colour })}
          />
          <TextField
            label="Film lot"
            optional
            value={typed.lot}
            maxLength={60}
            onChange={(lot) => set({ lot })}
          />
          <Select
            label="Film made of"
            none="not known"
            value={typed.chemistry}
            options={["PU", "PVC", "PET"].map((value) => ({ value, words: value }))}
            onChange={(chemistry) => set({ chemistry })}
          />
          <Checkbox
            label="The film holds glitter"
            checked={typed.glitter}
            onChange={(glitter) => set({ glitter })}
          />
        </div>
        <Actions>
          <Button type="submit" pending={query.isFetching} pendingWords="Judging…">
            Judge
          </Button>
        </Actions>
      </form>
      {child && <ChildGarmentNotice />}
      {query.isLoading && <Loading what="the judgement" />}
      {query.error && (
        <Failure
          title="It could not be judged"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
        >
          <ul>
            {faultOf(query.error).fields.map((field) => (
              <li key={field.path}>
                {field.path}: {field.words}
              </li>
            ))}
          </ul>
        </Failure>
      )}
      {query.data && !query.error && (
        <Verdict findings={query.data.findings} disclaimer={query.data.disclaimer} />
      )}
    </Part>
  );
}

function Verdict({ findings, disclaimer }: { findings: readonly Finding[]; disclaimer: string }) {
  const blocks = findings.filter((finding) => finding.kind === "block").length;
  return (
    <>
      <Notice
        live
        kind={
          blocks > 0 ? "block" : findings.some((finding) => finding.kind === "warning") ? "caution" : "info"
        }
        title={
          blocks > 0
            ? `${blocks === 1 ? "1 thing stops" : `${blocks} things stop`} the sale.`
            : findings.length === 0
              ? "No rule, note or paper kept here speaks of this."
              : "Nothing kept here stops the sale; see what must be said or kept."
        }
      >
        <p>{disclaimer}</p>
      </Notice>
      {findings.length > 0 && (
        <Table<Finding>
          caption="What was found"
          rows={findings}
          keyOf={(finding) => `${finding.rule} ${finding.kind} ${finding.words} ${finding.language}`}
          marked={(finding) => finding.kind === "block"}
          columns={[
            { key: "kind", words: "Kind", heads: true, cell: (finding) => finding.kind },
            {
              key: "words",
              words: "What it says",
              cell: (finding) => (
                <>
                  {finding.words}
                  {finding.exact && (
                    <p lang={finding.language || undefined}>
                      <b>{finding.exact}</b>
                    </p>
                  )}
                </>
              ),
            },
            {
              key: "citation",
              words: "Where it stands",
              cell: (finding) => finding.citation || finding.rule,
            },
          ]}
        />
      )}
    </>
  );
}
