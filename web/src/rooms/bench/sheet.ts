// What is in force for the branch, opened: film colours for the plan, garments of the price list.
import { fromBinary } from "@bufbuild/protobuf";
import type { PullSheetResponse } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type PriceList, type Recipe, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";

export type OpenSheet = {
  /** By record name: "recipes/glimmer-cotton". */
  recipes: ReadonlyMap<string, Recipe>;
  priceList: PriceList | null;
};

/** openSheet opens the sealed records of the sheet in force; what is sealed for later stays out. */
export function openSheet(pulled: PullSheetResponse): OpenSheet {
  const inForce = new Set(pulled.current?.entries.map(({ revision }) => revision));
  const recipes = new Map<string, Recipe>();
  let priceList: PriceList | null = null;
  for (const { name, content } of pulled.records) {
    if (!inForce.has(name)) continue;
    const revision = fromBinary(RevisionSchema, content);
    const said = revision.content?.content;
    if (said?.case === "recipe") recipes.set(revision.record, said.value);
    if (said?.case === "priceList") priceList = said.value;
  }
  return { recipes, priceList };
}
