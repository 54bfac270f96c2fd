import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";

const sheet = readFileSync("src/styles/tokens.css", "utf8");
const wcag = "WCAG 2.2 (W3C Recommendation 2023-10-05)";

// Relative luminance and contrast ratio as WCAG 2.2 defines them.
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const c = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a: string, b: string): number {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

function scheme(which: "light" | "dark" | "bright"): (name: string) => string {
  const found = new Map<string, string>();
  const pair = /--([\w-]+):\s*light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)/g;
  for (const [, name, light, dark] of sheet.matchAll(pair))
    if (name && light && dark) found.set(name, which === "dark" ? dark : light);
  if (which === "bright") {
    const block = sheet.slice(sheet.indexOf('[data-scheme="bright"]'), sheet.indexOf("@media"));
    for (const [, name, hex] of block.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})/g))
      if (name && hex) found.set(name, hex);
  }
  return (name) => {
    const hex = found.get(name);
    if (!hex) throw new Error(`no colour --${name} in tokens.css`);
    return hex;
  };
}

describe("the formula", () => {
  it.each([
    { a: "#000000", b: "#ffffff", ratio: 21, source: `${wcag}, definition of contrast ratio: from 1 to 21` },
    { a: "#777777", b: "#777777", ratio: 1, source: `${wcag}, definition of contrast ratio: from 1 to 21` },
  ])("$a on $b is $ratio", ({ a, b, ratio, source }) => {
    expect(source).not.toBe("");
    expect(contrast(a, b)).toBeCloseTo(ratio, 6);
  });
});

const words = [
  ["ink", "ground"],
  ["ink", "sheet"],
  ["ink", "sunk"],
  ["soft", "ground"],
  ["soft", "sheet"],
  ["soft", "sunk"],
  ["hot", "ground"],
  ["hot", "hot-ground"],
  ["on-hot", "hot"],
  ["caution", "caution-ground"],
  ["on-accent", "accent"],
  ["on-accent", "accent-deep"],
] as const;
const shapes = [
  ["edge", "ground"],
  ["edge", "sheet"],
  ["accent", "ground"],
] as const;

describe.each([
  { which: "light", least: 4.5, source: `${wcag}, 1.4.3 Contrast (Minimum)` },
  { which: "dark", least: 4.5, source: `${wcag}, 1.4.3 Contrast (Minimum)` },
  { which: "bright", least: 7, source: `${wcag}, 1.4.6 Contrast (Enhanced)` },
] as const)("the $which scheme ($source)", ({ which, least, source }) => {
  const colour = scheme(which);
  it.each(words)("words: %s on %s", (over, under) => {
    expect(source).not.toBe("");
    expect(contrast(colour(over), colour(under))).toBeGreaterThanOrEqual(least);
  });
  // 1.4.11 Non-text Contrast asks 3:1 of the edges of controls.
  it.each(shapes)("shapes: %s on %s", (over, under) => {
    expect(contrast(colour(over), colour(under))).toBeGreaterThanOrEqual(3);
  });
});
