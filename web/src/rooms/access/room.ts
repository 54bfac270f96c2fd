export const holds = "signing in; making the first person";
export const mayTouch = [
  "kit",
  "proto/evenpeel/access",
  "app/session",
  "app/fault",
  "app/paths",
  "app/route",
];
export const never = "keep a password longer than the form that asked for it";
