import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { showInstant } from "../../units/durations.ts";
import { NewsLine } from "./NewsLine.tsx";
import { keyWords } from "./trust.ts";
import type { Cards } from "./useCards.ts";

/** releaseWords names the release for the state line, and whether its signature was checked here. */
export function releaseWords({ data, sheet }: Cards): string {
  if (!data) return "no release here yet";
  const words = `release ${data.release}`;
  if (sheet.distrust) return `${words}, newer refused: ${sheet.distrust.reason}`;
  if (!sheet.checks) return `${words}, not checked here`;
  return sheet.held ? `${words}, signature checked` : words;
}

/** SheetLine says what is new about the sheet: a release that came, one that comes, one that is not trusted. */
export function SheetLine({ cards }: { cards: Cards }) {
  const { locale } = useUnits();
  const { sheet, turned, news } = cards;
  const { distrust, held } = sheet;
  return (
    <>
      {distrust && (
        <Notice kind="block" live title={`Something that came was refused (${distrust.reason}).`}>
          <p>
            {distrust.message} What this tablet held before stays. Tell head office before you press by
            anything new.
          </p>
          {(distrust.reason === "WRONG_KEY" || distrust.reason === "ROLLBACK") && (
            <Button kind="danger" onClick={sheet.startAnew}>
              Head office confirmed it on the telephone: begin anew
            </Button>
          )}
        </Notice>
      )}
      {turned !== null && (
        <Notice kind="info" live title={`New since ${showInstant(turned, locale)}.`}>
          <p>These settings came into force by the clock; they were kept here since they were released.</p>
        </Notice>
      )}
      {!turned && <NewsLine news={news} />}
      {!sheet.checks && (
        <Notice kind="caution" title="Signatures can not be checked here.">
          <p>The browser checks them only on a secure address (https).</p>
        </Notice>
      )}
      {distrust?.reason === "WRONG_KEY" && held && (
        <small>The key this tablet knows begins with {keyWords(held.pulled.officeKey)}.</small>
      )}
    </>
  );
}
