export const holds =
  "fair comparison: which branches differ by more than chance, why, and whether a change helped";
export const mayTouch = [
  "kit",
  "units",
  "proto/evenpeel/compare",
  "proto/evenpeel/branches",
  "proto/evenpeel/recipes",
  "proto/evenpeel/access",
  "app/fault",
  "app/paths",
  "app/route",
  "app/session",
  "d3-scale",
  "d3-shape",
];
export const never = "rank branches, or work out limits by itself: the server does both sums and words";
