// SpanForm asks for days and filters, and hands them on only when asked: each change would be a new sum over all runs.
import { useQuery } from "@connectrpc/connect-query";
import { type FormEvent, useState } from "react";
import { Button } from "../../kit/Button.tsx";
import { Select, TextField } from "../../kit/Field.tsx";
import type { FieldFault } from "../../kit/fault.ts";
import { wordsFor } from "../../kit/fault.ts";
import { ErrorSummary } from "../../kit/Notice.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import styles from "./compare.module.css";
import { instantOf, type Span } from "./view.ts";
import { fabrics } from "./words.ts";

export type Filter = "film" | "fabric" | "market";

type SpanFormProps = {
  span: Span;
  filters: readonly Filter[];
  onShow: (span: Span) => void;
};

/** faultsOf says what is wrong with the days. */
export function faultsOf(span: Span): FieldFault[] {
  const from = instantOf(span.fromDay);
  const to = instantOf(span.toDay);
  if (Number.isNaN(from)) return [{ path: "from", words: "Write the first day." }];
  if (Number.isNaN(to)) return [{ path: "to", words: "Write the last day." }];
  return from > to
    ? [{ path: "from", words: "The first day comes after the last. Change one of them." }]
    : [];
}

/** SpanForm starts anew (by its key) when the address changes. */
export function SpanForm({ span, filters, onShow }: SpanFormProps) {
  const [typed, setTyped] = useState(span);
  const [attempt, setAttempt] = useState(0);
  const faults = attempt === 0 ? [] : faultsOf(typed);
  const change = (part: Partial<Span>) => setTyped({ ...typed, ...part });

  function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    if (faultsOf(typed).length === 0) onShow({ ...typed, film: typed.film.trim() });
  }
  return (
    <form onSubmit={submit} noValidate className={styles.filters} aria-label="Days and filters">
      <ErrorSummary faults={faults} attempt={attempt} />
      <TextField
        label="First day"
        path="from"
        type="date"
        value={typed.fromDay}
        onChange={(fromDay) => change({ fromDay })}
        fault={wordsFor(faults, "from")}
      />
      <TextField
        label="Last day"
        path="to"
        type="date"
        value={typed.toDay}
        onChange={(toDay) => change({ toDay })}
        fault={wordsFor(faults, "to")}
      />
      {filters.includes("film") && (
        <TextField
          label="Film code"
          path="film"
          placeholder="all films"
          maxLength={60}
          value={typed.film}
          onChange={(film) => change({ film })}
        />
      )}
      {filters.includes("fabric") && (
        <Select
          label="Fabric"
          none="all fabrics"
          value={typed.fabric}
          options={fabrics.map((fabric) => ({ value: fabric as string, words: fabric }))}
          onChange={(fabric) => change({ fabric })}
        />
      )}
      {filters.includes("market") && (
        <Market value={typed.market} onChange={(market) => change({ market })} />
      )}
      <div className={styles.send}>
        <Button type="submit">Show these days</Button>
      </div>
    </form>
  );
}

function Market({ value, onChange }: { value: string; onChange: (market: string) => void }) {
  const { data } = useQuery(BranchesService.method.listBranches);
  const known = (data?.branches ?? []).map((branch) => branch.market);
  const markets = [...new Set([...known, value])].filter((market) => market !== "").toSorted();
  return (
    <Select
      label="Market"
      none="all markets"
      value={value}
      options={markets.map((market) => ({ value: market, words: market }))}
      onChange={onChange}
    />
  );
}
