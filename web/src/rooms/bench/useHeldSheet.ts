import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useCallback, useEffect, useMemo, useRef, useState } from "react";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { Distrust } from "./distrust.ts";
import type { HeldSheet, Sheets } from "./heldSheet.ts";
import { canCheck } from "./signing.ts";
import { useInstant } from "./useInstant.ts";

export type Sheet = {
  held: HeldSheet | null;
  /** What is in force and what comes next, by the clock; null before anything is held. */
  sheets: Sheets | null;
  /** Why what came, or what was kept, is not taken. */
  distrust: Distrust | null;
  /** Whether this browser can check at all. */
  checks: boolean;
  /** Takes the next pull as on the first day, after a person asked head office. */
  startAnew: () => void;
};

/** checking loads what checks a sheet; it is kept on this tablet, but need not come before the first screen. */
const checking = () => import("./heldSheet.ts");

/** useHeldSheet holds the branch's sheet and pulls again for each release that is newer than the one held. */
export function useHeldSheet(branch: string, newest: number | undefined): Sheet {
  const transport = useTransport();
  const [kept, setKept] = useState<{ held: HeldSheet; at: (now: number) => Sheets } | null>(null);
  const held = kept?.held ?? null;
  const [distrust, setDistrust] = useState<Distrust | null>(null);
  const [checks, setChecks] = useState(true);
  const [round, setRound] = useState(0);
  const latest = useRef<HeldSheet | null>(null);
  const upcoming = useMemo(() => kept?.at(kept.held.asOf), [kept]);
  const instant = held && upcoming?.next ? upcoming.next.effective - held.ahead : null;
  const passed = useInstant(instant);
  // The sheets turn over when the instant passes.
  const sheets = useMemo(() => kept?.at(Date.now()) ?? null, [kept, passed]);

  // `round` asks for one more pull, `passed` for one at the instant
  useEffect(() => {
    if (newest === undefined) return;
    if (latest.current && latest.current.trusted.release >= newest && !passed) return;
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
        const { readHeld, keepHeld, sheetsOf, taken } = await checking();
        const show = (sheet: HeldSheet) =>
          !gone && setKept({ held: sheet, at: (now) => sheetsOf(sheet, now) });
        const before = latest.current ?? (await readHeld(branch).catch(refused));
        if (before) show(before);
        const heldRelease = BigInt(before?.trusted.release ?? 0);
        const came = await createClient(CatalogService, transport).pullSheet({ branch, heldRelease });
        const sheet = await taken(before, came, branch, Date.now());
        if (gone) return; // the screen that came after pulls for itself
        latest.current = sheet;
        await keepHeld(sheet).catch(() => undefined); // storage is refused: it holds for this visit
        show(sheet);
        if (!gone) setDistrust(null);
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
  }, [branch, newest, passed, transport, round]);

  const startAnew = useCallback(() => {
    void checking().then(async ({ forgetHeld }) => {
      await forgetHeld(branch);
      latest.current = null;
      setKept(null);
      setDistrust(null);
      setRound((count) => count + 1);
    });
  }, [branch]);
  return { held, sheets, distrust, checks, startAnew };
}
