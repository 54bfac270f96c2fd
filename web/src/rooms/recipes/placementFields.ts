// Fields of the table of places on garments.
import { create } from "@bufbuild/protobuf";
import {
  PlacementBandSchema,
  PlacementGarmentSchema,
  PlacementPlaceSchema,
  PlacementSizeSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import type { Field } from "./fields.ts";

const table = "The table";

const words = (path: string, said: string, hint?: string): Field => ({
  path,
  words: said,
  as: "words",
  group: "",
  ...(hint ? { hint } : {}),
});

const length = (path: string, said: string, hint?: string): Field => ({
  path,
  words: said,
  as: "quantity",
  quantity: "length",
  group: "",
  ...(hint ? { hint } : {}),
});

const sizes: readonly Field[] = [
  words("name", "Size"),
  length("width_mm", "Width below the armholes"),
  length("length_mm", "Length", "From the highest point of the shoulder; of a bag, its height."),
  length("across_chest_mm", "Between the armholes", "0 is as wide as the garment."),
  length("armhole_mm", "Depth of the armhole"),
  length("front_neck_mm", "Depth of the front neck"),
  length("back_neck_mm", "Depth of the back neck"),
  length("neck_half_mm", "Half of the neck’s width"),
  length("sleeve_width_mm", "Width of the sleeve at its hem"),
  length("sleeve_length_mm", "Length of the sleeve"),
  length("pocket_up_to_hem_mm", "Height of the front pocket", "From the hem; 0 is none."),
];

const bands: readonly Field[] = [
  length("up_to_mm", "Garments up to a width of"),
  length("least_mm", "Narrowest design"),
  length("usual_mm", "Usual design"),
  length("most_mm", "Widest design"),
  length("tallest_mm", "Tallest design"),
];

export const placementFields: readonly Field[] = [
  {
    path: "source",
    words: "Where the numbers come from",
    hint: "Said on every screen that shows them.",
    as: "words",
    group: table,
  },
  {
    path: "garments",
    words: "Cuts of garment",
    as: "rows",
    group: "Cuts of garment",
    one: "cut of garment",
    folded: true,
    blank: () => create(PlacementGarmentSchema, { sizes: [create(PlacementSizeSchema)] }),
    columns: [
      words("kind", "Short name", "Small letters, digits and hyphens: t-shirt."),
      words("title", "Name"),
      { path: "child", words: "It is a child’s", as: "yes", group: "" },
      {
        path: "bag",
        words: "It is measured from its top edge, as a bag is",
        as: "yes",
        group: "",
      },
      words("source", "Where its measures come from"),
      {
        path: "sizes",
        words: "Sizes, the smallest first",
        as: "rows",
        group: "",
        one: "size",
        folded: true,
        blank: () => create(PlacementSizeSchema),
        columns: sizes,
      },
    ],
  },
  {
    path: "places",
    words: "Places",
    as: "rows",
    group: "Places",
    one: "place",
    folded: true,
    blank: () => create(PlacementPlaceSchema, { bands: [create(PlacementBandSchema)] }),
    columns: [
      words("name", "Short name", "Small letters, digits and hyphens: left-chest."),
      words("title", "Name"),
      {
        path: "face",
        words: "Face",
        hint: "Left and right are the wearer’s.",
        as: "choice",
        group: "",
        options: [
          { value: "front", words: "front" },
          { value: "back", words: "back" },
          { value: "left-sleeve", words: "left sleeve" },
          { value: "right-sleeve", words: "right sleeve" },
        ],
      },
      {
        path: "landmark",
        words: "Measured from",
        as: "choice",
        group: "",
        options: [
          { value: "collar", words: "lower edge of the collar" },
          { value: "shoulder", words: "highest point of the shoulder" },
          { value: "hem", words: "hem" },
          { value: "top-edge", words: "top edge" },
        ],
      },
      length("offset_mm", "Distance to the design’s nearer edge"),
      length(
        "across_mm",
        "From the middle fold to the design’s middle",
        "Towards the wearer’s left; below 0 towards the right.",
      ),
      length("clear_mm", "Kept free to seams and edges"),
      {
        path: "bands",
        words: "Usual widths, for the narrowest garments first",
        as: "rows",
        group: "",
        one: "width",
        blank: () => create(PlacementBandSchema),
        columns: bands,
      },
      {
        path: "garments",
        words: "For these cuts of garment",
        hint: "Their short names, one line each.",
        as: "lines",
        group: "",
      },
      words("source", "Where its numbers come from"),
    ],
  },
];
