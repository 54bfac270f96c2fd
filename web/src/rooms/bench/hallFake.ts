// The invented branch behind an invented server, for the tests of this room.
import { create } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport, type Transport } from "@connectrpc/connect";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import {
  BranchesService,
  type Card,
  type Machine,
  type Run,
  RunsService,
  StockService,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  DrawingSchema,
  type Order,
  OrdersService,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import {
  CatalogService,
  type PullSheetResponse,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type Fault, FaultSchema } from "../../proto/evenpeel/record/v1/fault_pb.ts";
import {
  glimmer,
  hall,
  listRecord,
  machines,
  order,
  placements,
  plan,
  recipeRecord,
  refusedCard,
  star,
  thinStroke,
  velvetRecord,
} from "./hall.ts";
import { newOffice, type Office, since } from "./officeFake.ts";

/** faulty makes the error that the server would send. */
export function faulty(code: Code, fault: Partial<Fault>): ConnectError {
  return new ConnectError("refused", code, undefined, [
    {
      desc: FaultSchema,
      value: { kind: fault.kind, reason: fault.reason, words: fault.words, reference: "7F3A" },
    },
  ]);
}

export type Hall = {
  transport: Transport;
  /** What the ledger holds. */
  runs: Run[];
  /** Thrown by the next calls of this method, until it is taken out. */
  failing: Map<string, ConnectError>;
  created: string[];
  saved: Machine[];
  /** The sizes that drawings were read at. */
  read: { widthUm: bigint; heightUm: bigint; unitNm: bigint }[];
  /** Releases to be told to whoever watches. */
  tell: (release: bigint) => void;
  cards: Card[];
  /** Cards of the sheet that comes next. */
  nextCards: Card[] | null;
  /** What a pull answers, where it is not the usual sheet. */
  sheet: PullSheetResponse | null;
  orders: Order[];
};

type UsualOffice = Office & { usual: PullSheetResponse };
let office: Promise<UsualOffice> | undefined;

/** signed gives the office of all halls; the cards then name the digests that it sealed. */
export function signed(): Promise<UsualOffice> {
  office ??= newOffice().then(async (made) => {
    glimmer.sha256 = (await made.seal(recipeRecord)).sha256;
    refusedCard.sha256 = (await made.seal(velvetRecord)).sha256;
    return { ...made, usual: await made.answer([recipeRecord, velvetRecord, listRecord]) };
  });
  return office;
}

/** newHall makes a fresh branch; what it holds may be changed before the first call. */
export function newHall(): Hall {
  const told: bigint[] = [];
  let wake = () => {};
  const at: Omit<Hall, "transport"> = {
    runs: [],
    failing: new Map(),
    created: [],
    saved: [],
    read: [],
    cards: [glimmer, refusedCard],
    nextCards: null,
    sheet: null,
    orders: [order],
    tell: (release) => {
      told.push(release);
      wake();
    },
  };
  const guard = (method: string) => {
    const error = at.failing.get(method);
    if (error) throw error;
  };
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({
        person: {
          name: "people/ada",
          title: "Ada",
          email: "ada@example.org",
          roles: [Role.BRANCH_MANAGER],
          branch: hall,
        },
      }),
    });
    service(BranchesService, {
      listCards: async ({ atTime }) => {
        guard("listCards");
        await signed();
        return atTime && at.nextCards
          ? { cards: at.nextCards, release: 42n }
          : { cards: at.cards, release: 41n };
      },
      listMachines: () => ({ machines }),
      saveMachine: ({ machine }) => {
        guard("saveMachine");
        if (machine) at.saved.push(machine);
        return machine ? { machine } : {};
      },
    });
    service(CatalogService, {
      pullSheet: async ({ heldRelease }) => {
        guard("pullSheet");
        return since(at.sheet ?? (await signed()).usual, heldRelease);
      },
      async *watchReleases(_request, context) {
        while (!context.signal.aborted) {
          for (const release of told.splice(0)) yield { release };
          await new Promise<void>((done) => {
            wake = done;
            context.signal.addEventListener("abort", () => done());
          });
        }
      },
    });
    service(OrdersService, {
      listOrders: () => ({ orders: at.orders }),
      getOrder: () => {
        guard("getOrder");
        return { order, plan };
      },
      planOrder: () => {
        guard("planOrder");
        return { plan };
      },
      readDrawing: ({ widthUm, heightUm, unitNm }) => {
        if (widthUm + heightUm + unitNm === 0n) guard("readDrawing");
        at.read.push({ widthUm, heightUm, unitNm });
        return {
          drawing: create(DrawingSchema, {
            name: "drawings/d1",
            widthUm: 80_000n,
            heightUm: 60_000n,
            figures: [{ colour: "#c02020", path: star, areaMm2: 3_600n, piecesCount: 1 }],
            findings: [thinStroke],
          }),
        };
      },
      createOrder: ({ id }) => {
        guard("createOrder");
        at.created.push(id);
        return { order, plan };
      },
      listPlacements: () => {
        guard("listPlacements");
        return placements;
      },
      landDesign: ({ garmentKind, place, designs }) => {
        guard("landDesign");
        const garment = placements.garmentKinds.find(({ kind }) => kind === garmentKind);
        return {
          garmentTitle: garment?.title ?? "",
          place: placements.places.find(({ name }) => name === place),
          landings: designs.map(({ size, widthUm, heightUm }) =>
            garment?.sizes.some(({ name }) => name === size)
              ? {
                  size,
                  faceBox: { widthMm: 520n, heightMm: 720n },
                  design: { xMm: 100n, yMm: 174n, widthMm: widthUm / 1000n, heightMm: heightUm / 1000n },
                  outline: "M0 0H520V720H0Z",
                  drawn: { widthMm: 520n, heightMm: 720n },
                  usual: placements.places[0]?.widths[0],
                  warnings:
                    widthUm < 200_000n
                      ? [{ kind: "too-narrow", words: "The design is narrow. Make it wider." }]
                      : [],
                }
              : { size, refusal: `There is no size ${size}. Choose one from the list.` },
          ),
        };
      },
      gradeDesign: ({ widthUm, sizes }) => {
        guard("gradeDesign");
        return {
          widths: sizes.map((size, index) => ({
            size,
            widthUm: widthUm + BigInt(index) * 20_000n,
            held: index > 0,
          })),
        };
      },
      getCutFile: () => ({ fileName: "o1.svg", mediaType: "image/svg+xml", content: new Uint8Array([1]) }),
    });
    service(RunsService, {
      listRuns: () => ({ runs: at.runs.toReversed() }),
      correctRun: ({ run }) => {
        if (run) at.runs.push(run);
        return run ? { run } : {};
      },
      reportRuns: ({ runs }) => {
        guard("reportRuns");
        const fresh = runs.filter(({ id }) => !at.runs.some((run) => run.id === id));
        at.runs.push(...fresh);
        return { storedCount: fresh.length, knownCount: runs.length - fresh.length };
      },
    });
    service(StockService, {
      listRolls: () => ({
        rolls: [
          {
            name: `${hall}/rolls/r1`,
            film: "glimmer",
            colour: "gold",
            lot: "L7",
            widthMm: 500n,
            lengthMm: 4_200n,
            place: "shelf 2",
          },
        ],
        paces: [
          {
            film: "glimmer",
            colour: "gold",
            leftMm: 4_200n,
            usedMm: 9_000n,
            known: true,
            low: true,
            words: "order now",
          },
        ],
      }),
      countRoll: ({ countedMm }) => ({ movement: { changeMm: countedMm - 4_200n } }),
      cutRemnant: () => ({}),
      listMovements: () => ({
        movements: [{ id: "m1", changeMm: 4_200n, leftMm: 4_200n, why: "receive", person: "people/ada-1" }],
      }),
      estimateLength: () => ({
        lengthMm: 7_000n,
        lowMm: 6_650n,
        highMm: 7_350n,
        doubtful: true,
        words: "Count it.",
      }),
      receiveRoll: ({ roll }) => (roll ? { roll } : {}),
      moveRoll: () => {
        guard("moveRoll");
        return {};
      },
    });
  });
  return Object.assign(at, { transport });
}

/** away is what a call throws where nothing is reached in time. */
export const away = new ConnectError("away", Code.Unavailable);
