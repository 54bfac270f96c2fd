export const holds = "whether service, network, clock and settings are fresh, in words that can be passed on";
export const mayTouch = [
  "kit",
  "units",
  "proto/evenpeel/recipes",
  "proto/evenpeel/access",
  "app/session",
  "app/fault",
  "app/paths",
  "app/route",
];
export const never = "change anything, or put into the report what opens a door";
