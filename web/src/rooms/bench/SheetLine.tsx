import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { showInstant } from "../../units/durations.ts";
import type { Refusal } from "./distrust.ts";
import { NewsLine } from "./NewsLine.tsx";
import { keyWords } from "./signing.ts";
import type { Cards } from "./useCards.ts";

/** releaseWords names the release for the state line, and whether its signature was checked here. */
export function releaseWords({ data, sheet }: Cards): string {
  if (!data) return "no release here yet";
  const words = `release ${data.release}`;
  if (sheet.distrust) return `${words}, newer refused: ${sheet.distrust.reason}`;
  if (!sheet.checks) return `${words}, not checked here`;
  return sheet.held ? `${words}, signature checked` : words;
}

/** Reasons after which only head office can say that a new beginning is right. */
const newBeginning: ReadonlySet<Refusal> = new Set([
  "SIGNATURE_WRONG",
  "KEY_RETIRED",
  "RELEASE_ROLLED_BACK",
  "RELEASE_CHAIN_BROKEN",
  "RELEASE_MISSING",
]);

/** SheetLine says what is new about the sheet: a release that came, one that comes, one that is not trusted. */
export function SheetLine({ cards }: { cards: Cards }) {
  const { locale } = useUnits();
  const now = useNow(60_000);
  const { sheet, turned, overdue, news } = cards;
  const { distrust, held } = sheet;
  const unconfirmed = held !== null && held.trusted.until < now;
  return (
    <>
      {distrust && (
        <Notice kind="block" live title={`Something that came was refused (${distrust.reason}).`}>
          <p>
            {distrust.message} What this tablet held before stays. Tell head office before you press by
            anything new.
          </p>
          {held && newBeginning.has(distrust.reason) && (
            <>
              <p>The key that this tablet knows begins with {keyWords(held.trusted.key)}.</p>
              <Button kind="danger" onClick={sheet.startAnew}>
                Head office confirmed it on the telephone: begin anew
              </Button>
            </>
          )}
        </Notice>
      )}
      {overdue !== null && (
        <Notice kind="block" title={`Newer settings are in force since ${showInstant(overdue, locale)}.`}>
          <p>Their cards are not on this tablet. Bring it to the network before you press.</p>
        </Notice>
      )}
      {turned !== null && (
        <Notice kind="info" live title={`New since ${showInstant(turned, locale)}.`}>
          <p>These settings came into force by the clock; they were kept here since they were released.</p>
        </Notice>
      )}
      {turned === null && overdue === null && <NewsLine news={news} />}
      {unconfirmed && !distrust && (
        <Notice
          kind="caution"
          title={`Head office has not confirmed since ${showInstant(held.trusted.said, locale)} that this is the newest.`}
        >
          <p>Work on by it. Bring the tablet to the network when you can.</p>
        </Notice>
      )}
      {!sheet.checks && (
        <Notice kind="caution" title="Signatures can not be checked here.">
          <p>The browser checks them only on a secure address (https).</p>
        </Notice>
      )}
    </>
  );
}
