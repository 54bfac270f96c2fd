export const holds =
  "what head office writes and approves: recipes to read, drafts of every kind of record, side by side, second looks";
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
export const never = "put anything in force: that is a release, in room releases";
