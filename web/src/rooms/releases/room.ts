export const holds = "what is put in force, where and from when, and which branch holds it";
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
export const never = "change what was approved: a release only names sealed revisions";
