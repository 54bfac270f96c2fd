export const holds = "price lists to read: what a metre costs by length, and what a usual order comes to";
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
export const never = "work out a price here: quotes come from the service, and lists are changed in drafts";
