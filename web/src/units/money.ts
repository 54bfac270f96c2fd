// Money: a whole number of the currency's smallest unit, and its ISO 4217 code. Never a fraction on the way.
import { numberFormat, parseNumber } from "./numbers.ts";

export type Money = { readonly minor: bigint; readonly currency: string };

/** minorDigits gives how many digits the smallest unit stands below the main one: 2 for EUR, 0 for JPY, 3 for KWD. */
export function minorDigits(currency: string): number {
  return numberFormat("en", { style: "currency", currency }).resolvedOptions().maximumFractionDigits ?? 2;
}

/** showMoney writes the amount as this locale does: "€1,234.50", "1 234,50 €". */
export function showMoney(money: Money, locale: string): string {
  const format = numberFormat(locale, { style: "currency", currency: money.currency });
  // A decimal string keeps every digit; a double would lose them beyond 2^53.
  return format.format(decimalText(money) as unknown as number);
}

/** showWhole writes the amount without its smallest unit where that is nothing, for axes: "€150". */
export function showWhole(money: Money, locale: string): string {
  const { currency } = money;
  const format = numberFormat(locale, { style: "currency", currency, trailingZeroDisplay: "stripIfInteger" });
  return format.format(decimalText(money) as unknown as number);
}

/** decimalText writes the amount with a point and no grouping, as a program reads it: "-12.05". */
export function decimalText(money: Money): string {
  const digits = minorDigits(money.currency);
  const negative = money.minor < 0n;
  const text = String(negative ? -money.minor : money.minor).padStart(digits + 1, "0");
  const sign = negative ? "-" : "";
  return digits === 0 ? sign + text : `${sign}${text.slice(0, -digits)}.${text.slice(-digits)}`;
}

export type ParsedMoney =
  | { ok: true; money: Money }
  | { ok: false; why: "empty" | "not a number" | "too fine" };

/** parseMoney reads an amount typed by a person; "12.345" euro is refused, not rounded. */
export function parseMoney(text: string, currency: string, locale: string): ParsedMoney {
  const parsed = parseNumber(text, locale);
  if (!parsed.ok) return parsed;
  const scaled = parsed.value * 10 ** minorDigits(currency);
  const minor = Math.round(scaled);
  if (Math.abs(scaled - minor) > 1e-6) return { ok: false, why: "too fine" };
  return { ok: true, money: { minor: BigInt(minor), currency } };
}
