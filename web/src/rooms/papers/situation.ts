// The situation to judge, as typed and as it stands in the address.
import { create } from "@bufbuild/protobuf";
import { type Situation, SituationSchema } from "../../proto/evenpeel/compliance/v1/compliance_service_pb.ts";

export type Typed = {
  market: string;
  soldAs: string;
  ownership: string;
  fabric: string;
  age: string;
  adult: boolean;
  film: string;
  colour: string;
  lot: string;
  chemistry: string;
  glitter: boolean;
};

const names = [
  "market",
  "soldAs",
  "ownership",
  "fabric",
  "age",
  "film",
  "colour",
  "lot",
  "chemistry",
] as const;
const usual: Record<string, string> = {
  market: "EU",
  soldAs: "t-shirt",
  ownership: "stock",
  fabric: "cotton",
};

/** typedIn reads the form's fields from the address. */
export function typedIn(view: URLSearchParams): Typed {
  const read = (name: string) => view.get(name) ?? usual[name] ?? "";
  return {
    market: read("market"),
    soldAs: read("soldAs"),
    ownership: read("ownership"),
    fabric: read("fabric"),
    age: read("age"),
    film: read("film"),
    colour: read("colour"),
    lot: read("lot"),
    chemistry: read("chemistry"),
    adult: view.get("adult") === "yes",
    glitter: view.get("glitter") === "yes",
  };
}

/** inWords writes the form into the address; what belongs to others there stays. */
export function inWords(typed: Typed, view: URLSearchParams): URLSearchParams {
  const next = new URLSearchParams(view);
  const put = (name: string, value: string) => {
    if (value === "") next.delete(name);
    else next.set(name, value);
  };
  for (const name of names) put(name, typed[name].trim());
  put("adult", typed.adult ? "yes" : "");
  put("glitter", typed.glitter ? "yes" : "");
  if (typed.adult) next.delete("age");
  return next;
}

/** askedIn gives the situation that the address asks about; null where it asks nothing yet. */
export function askedIn(view: URLSearchParams): Situation | null {
  const typed = typedIn(view);
  const age = typed.adult ? -1n : /^\d{1,4}$/.test(typed.age) ? BigInt(typed.age) : null;
  if (age === null || !view.has("market")) return null;
  const { market, soldAs, ownership, fabric, film, colour, lot, chemistry, glitter } = typed;
  return create(SituationSchema, {
    market,
    soldAs,
    ownership,
    fabric,
    film,
    colour,
    lot,
    chemistry,
    glitter,
    ageMonths: age,
  });
}
