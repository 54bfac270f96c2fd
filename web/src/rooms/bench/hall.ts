// An invented branch for the tests of this room: its machines, cards, one order and what is in force.
import { create } from "@bufbuild/protobuf";
import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import {
  type Card,
  CardSchema,
  type Machine,
  MachineKind,
  MachineSchema,
  Quantity,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  type ListPlacementsResponse,
  ListPlacementsResponseSchema,
  type Order,
  OrderSchema,
  type Plan,
  PlanSchema,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";

export const hall = "branches/hall";
const cutter = `${hall}/machines/cutter-1`;
const press = `${hall}/machines/press-1`;
const morning = Date.UTC(2027, 2, 1, 7);

export const glimmer: Card = create(CardSchema, {
  revision: "recipes/glimmer-cotton/revisions/3",
  sha256: new Uint8Array(32).fill(7),
  cutter,
  press,
  title: "Glimmer on cotton",
  film: "glimmer",
  filmTitle: "Glimmer glitter",
  fabric: "cotton",
  cut: [
    {
      quantity: Quantity.FORCE,
      key: "cut_force_grams",
      wantedMilli: 120_000n,
      dialMilli: 12_000n,
      scale: "step",
      givenMilli: 118_000n,
      lowMilli: 110_000n,
      highMilli: 140_000n,
    },
    {
      quantity: Quantity.SPEED,
      key: "cut_speed_mm_per_second",
      wantedMilli: 300_000n,
      dialMilli: 30_000n,
      scale: "cm/s",
      givenMilli: 300_000n,
      lowMilli: 200_000n,
      highMilli: 400_000n,
    },
  ],
  pressSettings: [
    {
      quantity: Quantity.TEMPERATURE,
      key: "press_temperature_celsius",
      wantedMilli: 150_000n,
      dialMilli: 154_000n,
      scale: "°C",
      givenMilli: 150_400n,
      lowMilli: 145_000n,
      highMilli: 160_000n,
    },
    {
      quantity: Quantity.PRESSURE,
      key: "pressure_kpa",
      wantedMilli: 280_000n,
      dialMilli: 3_500n,
      scale: "bar",
      givenMilli: 280_000n,
      lowMilli: 200_000n,
      highMilli: 400_000n,
      decimals: 1,
    },
    {
      quantity: Quantity.TIME,
      key: "dwell_seconds",
      wantedMilli: 12_000n,
      dialMilli: 12_000n,
      scale: "s",
      givenMilli: 12_000n,
      lowMilli: 10_000n,
      highMilli: 15_000n,
    },
  ],
  peel: "PEEL_WARM",
  peelWaitSeconds: 20n,
  prePressSeconds: 3n,
  dwellSeconds: 12n,
  coverSheet: true,
  advice: ["Glitter dulls a blade: change it after 20 m."],
  warnings: [{ key: "band-low", words: "The lower end of the band lies near the film's limit." }],
  bondLineDecicelsius: 1352n,
  bondLineLowDecicelsius: 1290n,
  bondLineHighDecicelsius: 1410n,
  passes: 1n,
  release: 41n,
  effectiveTime: timestampFromMs(morning),
});

export const refusedCard: Card = create(CardSchema, {
  ...glimmer,
  revision: "recipes/velvet-nylon/revisions/1",
  title: "Velvet on nylon",
  film: "velvet",
  filmTitle: "Velvet flock",
  fabric: "nylon",
  refusals: ["The press can not hold 115 °C: its lowest is 120 °C."],
});

export const machines: Machine[] = [
  create(MachineSchema, {
    name: cutter,
    kind: MachineKind.CUTTER,
    title: "Roll cutter",
    widthMm: 610n,
    edgeMarginMm: 15n,
    unitsPerMetre: 40_000n,
    bladeOffsetUm: 250n,
    overcutUm: 500n,
    calibratedOn: "2027-01-12",
    etag: "a",
    dials: [
      {
        quantity: Quantity.FORCE,
        scale: "step",
        stepMilli: 1_000n,
        lowMilli: 1_000n,
        highMilli: 30_000n,
        points: [
          { dialMilli: 5_000n, trueMilli: 52_000n },
          { dialMilli: 20_000n, trueMilli: 190_000n },
        ],
      },
    ],
  }),
  create(MachineSchema, {
    name: press,
    kind: MachineKind.PRESS,
    title: "Swing press",
    platenWidthMm: 400n,
    platenDepthMm: 500n,
    count: 1n,
    calibratedOn: "2027-01-12",
    etag: "b",
  }),
];

export const star = "M0 0H80V60H0ZM20 15V45H60V15Z";

export const thinStroke = {
  kind: "THIN_STROKE",
  words: "A stroke of 0.4 mm is thinner than 0.8 mm.",
  xUm: 20_000n,
  yUm: 15_000n,
  passesAtPercent: 200,
};

export const order: Order = create(OrderSchema, {
  name: `${hall}/orders/o1`,
  title: "Choir shirts",
  lines: [
    {
      drawing: "drawings/d1",
      recipe: "recipes/glimmer-cotton",
      colour: "gold",
      placement: "left chest",
      sizes: [{ size: "M", count: 2n }],
    },
  ],
  ageMonths: -1n,
  soldAs: "t-shirt",
  ownership: "customer-own-use",
  cutter,
  press,
  createTime: timestampFromMs(morning),
});

export const plan: Plan = create(PlanSchema, {
  layouts: [
    {
      film: "glimmer",
      filmTitle: "Glimmer glitter",
      colour: "gold",
      rollWidthUm: 500_000n,
      lengthUm: 200_000n,
      boundUm: 160_000n,
      places: [
        { line: 0, size: "M", xUm: 20_000n, yUm: 5_000n, widthUm: 80_000n, heightUm: 60_000n, outline: 0 },
        {
          line: 0,
          size: "M",
          xUm: 120_000n,
          yUm: 5_000n,
          widthUm: 60_000n,
          heightUm: 80_000n,
          turned: true,
          outline: 0,
        },
      ],
      outlines: [star],
      designs: [{ line: 0, size: "M", widthUm: 80_000n, heightUm: 60_000n }],
      edgeMarginUm: 15_000n,
      designAreaMm2: 7_200n,
      edgeAreaMm2: 6_000n,
      layoutAreaMm2: 86_800n,
      cuttingSeconds: 90n,
      cutLengthMm: 1_400n,
      travelMm: 300n,
      travelUnorderedMm: 520n,
      weedingSeconds: 240n,
      roll: `${hall}/rolls/r1`,
      rollWords: "Roll r1, shelf 2: the shortest that is long enough",
      card: glimmer,
      band: 1,
      piecesCount: 2n,
    },
  ],
  quote: {
    lines: [
      { key: "film", words: "Glimmer glitter", quantity: 200n, unit: "mm", amountMinor: 480n },
      { key: "labour", words: "Labour", quantity: 600n, unit: "seconds", amountMinor: 500n },
    ],
    netMinor: 980n,
    taxMinor: 225n,
    grossMinor: 1_205n,
    payableMinor: 1_205n,
    perGarmentMinor: 603n,
    currencyCode: "EUR",
    taxName: "VAT",
    hint: "0.3 m more reaches the next break.",
  },
  verdict: {
    findings: [
      {
        kind: "label",
        rule: "EU-1",
        words: "Fibre composition in the language of the market.",
        citation: "Regulation (EU) No 1007/2011, Art 16",
        seen: "read",
      },
    ],
    disclaimer: "This is a help, not legal advice.",
  },
  findings: [thinStroke],
  careWords: "Wash at 40 °C, mild. Do not bleach.",
  pressingSeconds: 120n,
  garmentsCount: 2n,
  release: 41n,
});

const place = (name: string, title: string, garmentKinds: string[]) => ({
  name,
  title,
  face: "front",
  landmark: "collar",
  offsetMm: 75n,
  clearMm: 30n,
  widths: [{ upToMm: 3_000n, leastMm: 200n, usualMm: 280n, mostMm: 330n, tallestMm: 380n }],
  garmentKinds,
  source: "invented",
});

export const placements: ListPlacementsResponse = create(ListPlacementsResponseSchema, {
  garmentKinds: [
    { kind: "t-shirt", title: "t-shirt", sizes: [{ name: "M" }, { name: "L" }] },
    { kind: "childs-t-shirt", title: "child's t-shirt", child: true, sizes: [{ name: "104" }] },
    { kind: "tote", title: "tote bag", bag: true, sizes: [{ name: "one size" }] },
  ],
  places: [
    place("full-front", "full front", ["t-shirt", "childs-t-shirt"]),
    {
      ...place("left-chest", "left chest", ["t-shirt"]),
      landmark: "shoulder",
      offsetMm: 190n,
      acrossMm: 100n,
    },
    place("childs-left-chest", "left chest, child", ["childs-t-shirt"]),
    { ...place("bag-front", "bag front", ["tote"]), landmark: "top-edge" },
  ],
  source: "invented",
});

export const recipeRecord = create(RevisionSchema, {
  record: "recipes/glimmer-cotton",
  number: 3n,
  content: {
    content: {
      case: "recipe",
      value: {
        title: "Glimmer on cotton",
        film: { code: "glimmer", title: "Glimmer glitter", colours: ["gold", "silver"], rollWidthMm: 500n },
      },
    },
  },
});
export const velvetRecord = create(RevisionSchema, {
  record: "recipes/velvet-nylon",
  number: 1n,
  content: { content: { case: "recipe", value: { title: "Velvet on nylon", film: { code: "velvet" } } } },
});

export const listRecord = create(RevisionSchema, {
  record: "prices/eu-retail",
  number: 1n,
  content: {
    content: {
      case: "priceList",
      value: {
        title: "EU",
        currencyCode: "EUR",
        garments: [{ garment: "tee-basic", title: "Basic T-shirt" }],
      },
    },
  },
});
