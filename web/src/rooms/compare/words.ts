// Words for marks, losses, causes and fabrics.
import { Mark, type Standing } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";

/** markWords says how a branch stands. */
export const markWords: Record<Mark, string> = {
  [Mark.UNSPECIFIED]: "not stated",
  [Mark.INSIDE]: "within chance",
  [Mark.HIGH_95]: "above the 95 % limit",
  [Mark.HIGH_998]: "above the 99.8 % limit",
  [Mark.LOW_95]: "below the 95 % limit",
  [Mark.LOW_998]: "below the 99.8 % limit",
  [Mark.CANNOT_TELL]: "too few to tell",
  [Mark.SILENT]: "sent nothing",
};

export type MarkShape = "up" | "down" | "full" | "empty";

/** shapeOf gives the shape of a point: triangles outside the 99.8 % limits, a ring where one can not tell. */
export function shapeOf(mark: Mark): MarkShape {
  if (mark === Mark.HIGH_998) return "up";
  if (mark === Mark.LOW_998) return "down";
  return mark === Mark.CANNOT_TELL || mark === Mark.SILENT || mark === Mark.UNSPECIFIED ? "empty" : "full";
}

/** signOf is the same shape as a letter, for running text. */
export const signOf = (mark: Mark): string => ({ up: "▲", down: "▼", full: "●", empty: "○" })[shapeOf(mark)];

/** titleOf names a branch; where it may not be named, it says so. */
export const titleOf = (standing: Standing): string => standing.title || "A branch not named here";

const losses: Record<string, string> = {
  drawn: "Drawn from rolls",
  layout: "Between designs",
  edge: "Edges and rollers",
  "test-cuts": "Test cuts",
  weeding: "Weeding",
  reprints: "Reprints",
  "roll-ends": "Roll ends",
  "not-accounted": "Not accounted for",
  decorated: "On good garments",
};
export const lossWords = (key: string): string => losses[key] ?? key;

const causes: Record<string, string> = {
  "edge-lift": "Edge lifts",
  wrinkle: "Wrinkle",
  scorch: "Scorch or shine",
  "shallow-cut": "Cut too shallow",
  "deep-cut": "Cut through carrier",
  "weeding-tear": "Torn in weeding",
  misplaced: "Misplaced",
  "wrong-colour": "Wrong colour",
  "film-end": "Film ran out",
  other: "Something else",
};
export const causeWords = (cause: string): string => causes[cause] ?? cause;

/** Fabric families, the words of recipes. */
export const fabrics = ["cotton", "polyester", "blend", "nylon", "stretch"] as const;
