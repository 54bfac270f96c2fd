export const holds = "the list of people: adding one, ending sessions, keeping somebody out";
export const mayTouch = [
  "kit",
  "units",
  "proto/evenpeel/access",
  "proto/evenpeel/branches",
  "app/session",
  "app/roles",
  "app/fault",
  "app/paths",
  "app/route",
];
export const never = "keep a password longer than the form that asked for it";
