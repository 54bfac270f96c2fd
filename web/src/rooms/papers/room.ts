export const holds =
  "compliance notes and certificates to read, which of them end soon, and a judgement of one situation";
export const mayTouch = [
  "kit",
  "units",
  "proto",
  "app/paths",
  "app/route",
  "app/fault",
  "app/session",
  "app/roles",
];
export const never =
  "say that something is lawful: it shows what rules, notes and papers say, beside the disclaimer";
