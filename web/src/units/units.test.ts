import { describe, expect, it } from "vitest";
import { shownAs, type UnitChoice, usualIn } from "./choice.ts";
import { showAge, showClock, showDuration } from "./durations.ts";
import { minorDigits, parseMoney, showMoney } from "./money.ts";
import { formatNumber, parseNumber } from "./numbers.ts";
import { celsius, fromShown, kilopascals, quantities, type Shown, seconds, toShown } from "./quantities.ts";
import { show, showChange, showRange } from "./show.ts";

const british: UnitChoice = { ...usualIn("en-GB"), locale: "en-GB" };
const american: UnitChoice = { ...usualIn("en-US"), locale: "en-US" };
const german: UnitChoice = { ...usualIn("de-DE"), locale: "de-DE" };
const nist = "NIST SP 811, 2008 edition, appendix B.8";

describe("factors", () => {
  const rows: { unit: Shown; kept: number; shown: number; near: number; source: string }[] = [
    { unit: quantities.temperature.F, kept: 100, shown: 212, near: 0, source: `${nist}, degree Fahrenheit` },
    { unit: quantities.temperature.F, kept: -40, shown: -40, near: 0, source: `${nist}, degree Fahrenheit` },
    {
      unit: quantities.temperatureChange.F,
      kept: 5,
      shown: 9,
      near: 0,
      source: `${nist}, Fahrenheit interval`,
    },
    // 1 psi = 6.894 757 kPa, so 6 894 757 kPa are a million psi within the seven figures printed.
    { unit: quantities.pressure.psi, kept: 6_894_757, shown: 1_000_000, near: 0.1, source: `${nist}, psi` },
    { unit: quantities.pressure.bar, kept: 100, shown: 1, near: 0, source: `${nist}, bar (1.0 E+05 Pa)` },
    { unit: quantities.length.in, kept: 254, shown: 10, near: 0, source: `${nist}, inch (2.54 E-02 m)` },
    { unit: quantities.fineLength.in, kept: 25_400, shown: 1, near: 0, source: `${nist}, inch` },
    {
      unit: quantities.rollLength.in,
      kept: 3048,
      shown: 10,
      near: 0,
      source: `${nist}, foot (3.048 E-01 m)`,
    },
    { unit: quantities.thickness.in, kept: 254, shown: 10, near: 0, source: `${nist}, mil (2.54 E-05 m)` },
    {
      unit: quantities.area.in,
      kept: 64_516,
      shown: 100,
      near: 0,
      source: `${nist}, square inch (6.4516 E-04 m2)`,
    },
    {
      unit: quantities.filmArea.in,
      kept: 9_290_304,
      shown: 100,
      near: 0,
      source: `${nist}, square foot (9.290 304 E-02 m2)`,
    },
    // 1 oz/yd² = 3.390 575 E-02 kg/m²: 33.90575 g/m².
    {
      unit: quantities.areaMass.in,
      kept: 3_390_575,
      shown: 100_000,
      near: 0.01,
      source: `${nist}, ounce per square yard`,
    },
    {
      unit: quantities.force.N,
      kept: 1000,
      shown: 9.80665,
      near: 0,
      source: `${nist}, kilogram-force (9.806 65 N)`,
    },
    { unit: quantities.speed["in/s"], kept: 254, shown: 10, near: 0, source: `${nist}, inch per second` },
  ];
  it.each(rows)("$kept kept is $shown $unit.symbol ($source)", ({ unit, kept, shown, near, source }) => {
    expect(source).not.toBe("");
    expect(Math.abs(toShown(kept, unit) - shown)).toBeLessThanOrEqual(near + 1e-9 * Math.abs(shown));
  });

  it("gives back every kept number from its own shown value", () => {
    for (const ways of Object.values(quantities))
      for (const unit of Object.values(ways) as Shown[])
        for (const kept of [0, 1, 7, 12, 149, 150, 151, 999, 4321, 123_457])
          expect(fromShown(toShown(kept, unit), unit)).toEqual({ kept, exact: true });
  });

  it("says when what was typed can not be kept exactly", () => {
    expect(fromShown(301, quantities.temperature.F)).toEqual({ kept: 149, exact: false });
    expect(fromShown(302, quantities.temperature.F)).toEqual({ kept: 150, exact: true });
  });
});

describe("numbers as people type them", () => {
  const cldr = "Unicode CLDR, number symbols of the locale";
  const ours = "ours: a separator is never dropped, so nothing is read ten times too large";
  const rows: { text: string; locale: string; value: number | null; source: string }[] = [
    { text: "2.8", locale: "en-GB", value: 2.8, source: cldr },
    { text: "2,8", locale: "de-DE", value: 2.8, source: cldr },
    { text: "1,250.5", locale: "en-US", value: 1250.5, source: cldr },
    { text: "1.250,5", locale: "de-DE", value: 1250.5, source: cldr },
    { text: "1 250,5", locale: "fr-FR", value: 1250.5, source: cldr },
    { text: "1\u202f250,5", locale: "fr-FR", value: 1250.5, source: cldr },
    { text: "1'250.5", locale: "de-CH", value: 1250.5, source: cldr },
    { text: "\u0661\u0665\u0660", locale: "ar-EG", value: 150, source: cldr },
    { text: "\u22125", locale: "en-GB", value: -5, source: cldr },
    { text: "1.234", locale: "de-DE", value: 1234, source: cldr },
    { text: "1.234", locale: "en-GB", value: 1.234, source: cldr },
    { text: "2,8", locale: "en-GB", value: 2.8, source: ours },
    { text: "2.8", locale: "de-DE", value: 2.8, source: ours },
    { text: "0,125", locale: "en-GB", value: 0.125, source: ours },
    { text: "12,34,5", locale: "en-GB", value: null, source: ours },
    { text: "1,5.2", locale: "en-GB", value: null, source: ours },
    { text: "15O", locale: "en-GB", value: null, source: ours },
    { text: "1e3", locale: "en-GB", value: null, source: ours },
    { text: ".", locale: "en-GB", value: null, source: ours },
    { text: "  ", locale: "en-GB", value: null, source: ours },
  ];
  it.each(rows)("$text in $locale is $value", ({ text, locale, value, source }) => {
    expect(source).not.toBe("");
    const parsed = parseNumber(text, locale);
    expect(parsed.ok ? parsed.value : null).toBe(value);
  });

  it("reads back everything it writes", () => {
    for (const locale of ["en-GB", "de-DE", "fr-FR", "pl-PL", "de-CH", "ar-EG"])
      for (const value of [0, -1.5, 12.25, 1234.5, 98_765.25, 1_234_567.75]) {
        const parsed = parseNumber(formatNumber(value, locale, 2), locale);
        expect(parsed).toEqual({ ok: true, value });
      }
  });
});

describe("what a person reads", () => {
  it("shows one kept number in the person's units", () => {
    expect(show("temperature", celsius(150), british)).toBe("150\u00a0°C");
    expect(show("temperature", celsius(150), american)).toBe("302\u00a0°F");
    expect(show("pressure", kilopascals(280), german)).toBe("2,80\u00a0bar");
    expect(showRange("temperature", celsius(145), celsius(160), british)).toBe("145 to 160\u00a0°C");
  });
  it("shows differences without the offset of the scale", () => {
    expect(showChange("temperature", celsius(5), american)).toBe("+9\u00a0°F");
    expect(showChange("pressure", kilopascals(-20), british)).toBe("\u22120.20\u00a0bar");
  });
  it("never shows two neighbouring kept numbers alike", () => {
    for (const choice of [british, american])
      for (const quantity of ["temperature", "pressure", "length", "thickness", "speed"] as const) {
        const { digits } = shownAs(quantity, choice);
        const texts = [100, 101, 102].map((kept) => toShown(kept, shownAs(quantity, choice)).toFixed(digits));
        expect(new Set(texts).size).toBe(3);
      }
  });
  it("says times as a workshop does", () => {
    expect(showDuration(seconds(12))).toBe("12\u00a0s");
    expect(showDuration(seconds(100))).toBe("1\u00a0min 40\u00a0s");
    expect(showDuration(seconds(10_800))).toBe("3\u00a0h");
    expect(showClock(8_100)).toBe("0:09");
    expect(showClock(0)).toBe("0:00");
    expect(showClock(3_725_000)).toBe("1:02:05");
    expect(showAge(0, 3 * 3_600_000)).toBe("3\u00a0h old");
  });
});

describe("money", () => {
  const iso = "ISO 4217:2015, minor unit of the currency";
  it.each([
    { currency: "EUR", digits: 2, source: iso },
    { currency: "JPY", digits: 0, source: iso },
    { currency: "KWD", digits: 3, source: iso },
  ])("$currency has $digits minor digits", ({ currency, digits, source }) => {
    expect(source).not.toBe("");
    expect(minorDigits(currency)).toBe(digits);
  });
  it("writes every digit of a large amount", () => {
    expect(showMoney({ minor: 900719925474099301n, currency: "EUR" }, "en-GB")).toBe(
      "€9,007,199,254,740,993.01",
    );
    expect(showMoney({ minor: -5n, currency: "EUR" }, "en-GB")).toBe("-€0.05");
  });
  it("reads an amount and refuses one that is too fine", () => {
    expect(parseMoney("12,50", "EUR", "de-DE")).toEqual({
      ok: true,
      money: { minor: 1250n, currency: "EUR" },
    });
    expect(parseMoney("12.345", "EUR", "en-GB")).toEqual({ ok: false, why: "too fine" });
  });
});
