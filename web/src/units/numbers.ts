// Numbers as people write them. Press settings are dangerous when read ten times too large, so a separator is
// never dropped silently: it is a decimal sign, or it groups thousands where thousands are, or the text is refused.

export type Parsed = { ok: true; value: number } | { ok: false; why: "empty" | "not a number" };

const minus = /^[-\u2212\u2013]/;
const spaces = /[\s\u00a0\u202f\u2009'\u2019\u061c\u200e\u200f]/g; // grouping spaces and apostrophes, marks of writing direction

type Signs = { decimal: "." | ","; digits: string[] };
const signsOf = new Map<string, Signs>();

function signs(locale: string): Signs {
  const known = signsOf.get(locale);
  if (known) return known;
  const parts = new Intl.NumberFormat(locale).formatToParts(-1234567.5);
  const decimal = parts.find((part) => part.type === "decimal")?.value === "," ? "," : ".";
  const plain = new Intl.NumberFormat(locale, { useGrouping: false });
  const found: Signs = { decimal, digits: Array.from({ length: 10 }, (_, digit) => plain.format(digit)) };
  signsOf.set(locale, found);
  return found;
}

/**
 * parseNumber reads a number typed by a person whose numbers look as in `locale`. The locale's decimal sign is always
 * decimal. The other sign groups thousands when it stands exactly where thousands are ("1.250" in German);
 * anywhere else, and alone, it is taken as the decimal sign it must have been meant for ("2,8" in English).
 */
export function parseNumber(text: string, locale: string): Parsed {
  const { decimal, digits } = signs(locale);
  let rest = text.replace(spaces, "");
  digits.forEach((own, digit) => {
    if (own !== String(digit)) rest = rest.replaceAll(own, String(digit));
  });
  rest = rest.replaceAll("\u066b", ".").replaceAll("\u066c", ","); // the Arabic signs
  if (rest === "") return { ok: false, why: "empty" };
  const negative = minus.test(rest);
  rest = rest.replace(minus, "").replace(/^\+/, "");
  if (!/^[\d.,]+$/.test(rest) || !/\d/.test(rest)) return { ok: false, why: "not a number" };

  const other = decimal === "." ? "," : ".";
  const grouped = decimal === "." ? /^[1-9]\d{0,2}(,\d{3})+(\.\d*)?$/ : /^[1-9]\d{0,2}(\.\d{3})+(,\d*)?$/;
  if (grouped.test(rest)) rest = rest.replaceAll(other, "");
  else if (!rest.includes(decimal) && rest.split(other).length === 2) rest = rest.replace(other, decimal);
  if (rest.includes(other)) return { ok: false, why: "not a number" };
  rest = rest.replace(decimal, ".");
  if (!/^(\d+\.?\d*|\.\d+)$/.test(rest)) return { ok: false, why: "not a number" };
  const value = Number(rest);
  return { ok: true, value: negative && value !== 0 ? -value : value };
}

const formats = new Map<string, Intl.NumberFormat>();

/** numberFormat gives a kept formatter; making one costs more than using it a thousand times. */
export function numberFormat(locale: string, options: Intl.NumberFormatOptions): Intl.NumberFormat {
  const key = locale + JSON.stringify(options);
  let format = formats.get(key);
  if (!format) {
    format = new Intl.NumberFormat(locale, options);
    formats.set(key, format);
  }
  return format;
}

/** formatNumber writes with exactly `digits` after the decimal sign; −0 is written as 0. */
export function formatNumber(value: number, locale: string, digits = 0): string {
  const options = {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
    signDisplay: "negative",
  } as const;
  return numberFormat(locale, options).format(value);
}

/** formatCount writes a whole number with its thousands grouped. */
export function formatCount(value: number | bigint, locale: string): string {
  return numberFormat(locale, { maximumFractionDigits: 0 }).format(value);
}
