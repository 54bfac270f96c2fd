export const holds =
  "everything a branch does: cards on its own dials, plans, led steps, outcomes and the outbox, stock and machines";
export const mayTouch = [
  "kit",
  "units",
  "app/paths",
  "app/route",
  "app/fault",
  "app/session",
  "app/roles",
  "proto/evenpeel/access",
  "proto/evenpeel/branches",
  "proto/evenpeel/compliance",
  "proto/evenpeel/orders",
  "proto/evenpeel/prices",
  "proto/evenpeel/recipes",
  "proto/evenpeel/record",
  "idb",
];
export const never =
  "lose a run: it is saved on this tablet before it is sent, and kept until it is confirmed";
