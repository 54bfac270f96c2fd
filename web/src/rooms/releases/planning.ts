// What somebody plans to release, before it is signed: choices of the form, what is wrong with them, and the wire's plan.
import { type Timestamp, timestampFromMs } from "@bufbuild/protobuf/wkt";
import type { FieldFault } from "../../kit/fault.ts";
import type { PlannedRelease } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";

export const markets = ["EU", "UK", "US", "CA", "AU"] as const;

export type Planned = {
  revisions: ReadonlySet<string>;
  /** Records to take out of force. */
  withdrawn: ReadonlySet<string>;
  markets: ReadonlySet<string>;
  /** Branches that are named; null is all of the markets. */
  branches: ReadonlySet<string> | null;
  /** Date and time where this person is, as the browser's field writes it; null is at once. */
  local: string | null;
  reason: string;
  /** Number of the trial that it widens; 0n is none. */
  widens: bigint;
};

export const emptyPlan: Planned = {
  revisions: new Set(),
  withdrawn: new Set(),
  markets: new Set(),
  branches: null,
  local: null,
  reason: "",
  widens: 0n,
};

/** plannedFrom takes a plan of the server as a start: its instant is chosen anew. */
export function plannedFrom(plan: PlannedRelease): Planned {
  return {
    ...emptyPlan,
    revisions: new Set(plan.revisions),
    withdrawn: new Set(plan.withdrawn),
    markets: new Set(plan.markets),
    branches: plan.branches.length === 0 ? null : new Set(plan.branches),
    reason: plan.reason,
    widens: plan.widens,
  };
}

/** instantOf reads a date and time without zone as local; NaN where it is none. */
export const instantOf = (local: string | null): number =>
  local === null || local === "" ? Number.NaN : new Date(local).getTime();

/** faultsOf is everything that is wrong, in the order of the form. */
export function faultsOf(planned: Planned): FieldFault[] {
  const faults: FieldFault[] = [];
  if (planned.revisions.size + planned.withdrawn.size === 0)
    faults.push({ path: "revisions", words: "Choose at least one revision" });
  if (planned.markets.size === 0) faults.push({ path: "markets", words: "Choose at least one market" });
  if (planned.branches?.size === 0) faults.push({ path: "branches", words: "Name at least one branch" });
  if (planned.local !== null && Number.isNaN(instantOf(planned.local)))
    faults.push({ path: "effective_time", words: "Say from when it is in force" });
  return faults;
}

type Plan = {
  revisions: string[];
  withdrawn: string[];
  markets: string[];
  branches: string[];
  reason: string;
  widens: bigint;
  effectiveTime?: Timestamp;
};

/** planOf writes the wire's plan. */
export function planOf(planned: Planned): Plan {
  const at = instantOf(planned.local);
  return {
    revisions: [...planned.revisions],
    withdrawn: [...planned.withdrawn],
    markets: [...planned.markets],
    branches: planned.branches === null ? [] : [...planned.branches],
    reason: planned.reason,
    widens: planned.widens,
    ...(Number.isNaN(at) ? {} : { effectiveTime: timestampFromMs(at) }),
  };
}
