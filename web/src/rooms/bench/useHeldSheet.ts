import { timestampMs } from "@bufbuild/protobuf/wkt";
import { createClient, type Transport } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useCallback, useEffect, useRef, useState } from "react";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import {
  effectiveAt,
  forgetHeld,
  type HeldSheet,
  joinedWith,
  keepHeld,
  readHeld,
  trusted,
} from "./heldSheet.ts";
import { canCheck, check, Distrust } from "./trust.ts";
import { useInstant } from "./useInstant.ts";

export type Sheet = {
  held: HeldSheet | null;
  /** Whether the instant of the next sheet has passed by now. */
  passed: boolean;
  /** Why what came, or what was kept, is not taken. */
  distrust: Distrust | null;
  /** Whether this browser can check at all. */
  checks: boolean;
  /** Takes the next pull as on the first day, after a person asked head office. */
  startAnew: () => void;
};

/** useHeldSheet holds the branch's sheet and pulls again for each release that is newer than the one held. */
export function useHeldSheet(branch: string, newest: number | undefined): Sheet {
  const transport = useTransport();
  const [held, setHeld] = useState<HeldSheet | null>(null);
  const [distrust, setDistrust] = useState<Distrust | null>(null);
  const [checks, setChecks] = useState(true);
  const [round, setRound] = useState(0);
  const latest = useRef<HeldSheet | null>(null);

  const passed = useInstant(held && effectiveAt(held));

  useEffect(() => {
    if (newest === undefined) return;
    const { current } = latest;
    if (current && current.pulled.newestRelease >= BigInt(newest) && !passed) return;
    let gone = false;
    // What was kept and is not whole any more is left and pulled anew; that it was is told.
    const refused = (error: unknown) => {
      if (error instanceof Distrust && !gone) setDistrust(error);
      return null;
    };
    async function pull() {
      if (!(await canCheck())) {
        if (!gone) setChecks(false);
        return;
      }
      try {
        const before = latest.current ?? (await readHeld(branch).catch(refused));
        if (before && !gone) setHeld(before);
        const sheet = await pulledOn(transport, branch, before);
        latest.current = sheet;
        await keepHeld(branch, sheet).catch(() => undefined); // storage is refused: it holds for this visit
        if (gone) return;
        setHeld(sheet);
        setDistrust(null);
      } catch (error) {
        refused(error); // where the network is away, what is held stays; the state line says how old it is
      }
    }
    void pull();
    const again = () => void pull();
    window.addEventListener("online", again);
    return () => {
      gone = true;
      window.removeEventListener("online", again);
    };
    // `round` only asks for one more pull
  }, [branch, newest, passed, transport, round]);

  const startAnew = useCallback(() => {
    void forgetHeld(branch).then(() => {
      latest.current = null;
      setHeld(null);
      setDistrust(null);
      setRound((count) => count + 1);
    });
  }, [branch]);
  return { held, passed, distrust, checks, startAnew };
}

/** pulledOn asks for what changed since the sheet held; where something is missing then, for all of it. */
async function pulledOn(
  transport: Transport,
  branch: string,
  before: HeldSheet | null,
  whole = before === null,
): Promise<HeldSheet> {
  const came = await createClient(CatalogService, transport).pullSheet({
    branch,
    heldRelease: whole ? 0n : (before?.pulled.newestRelease ?? 0n),
  });
  const pulled = joinedWith(before, came);
  const asOf = Date.now();
  const ahead = came.serverTime ? timestampMs(came.serverTime) - asOf : 0;
  try {
    return { pulled, asOf, ahead, named: await check(pulled, before && trusted(before)) };
  } catch (error) {
    if (whole || !(error instanceof Distrust) || error.reason !== "MISSING") throw error;
    return pulledOn(transport, branch, before, true);
  }
}
