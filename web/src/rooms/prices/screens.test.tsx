import { create, toBinary } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport, type ServiceImpl } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, waitFor } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Route, Router } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider, useSession } from "../../app/session.tsx";
import { ladderOf } from "../../kit/drawings/ladder.ts";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { PricesService, type QuoteRequest } from "../../proto/evenpeel/prices/v1/prices_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import {
  FilmPriceSchema,
  PriceListSchema,
  RevisionSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import PriceListScreen from "./PriceListScreen.tsx";
import Prices from "./Prices.tsx";

const record = "prices/eu-retail";
const price = create(FilmPriceSchema, {
  film: "soft",
  breaks: [
    { fromMm: 3_000n, perMetreMinor: 2_600n },
    { fromMm: 0n, perMetreMinor: 3_200n },
  ],
});
const list = create(PriceListSchema, {
  title: "Retail EU",
  market: "EU",
  currencyCode: "EUR",
  filmPrices: [price],
});
const quote = vi.fn((_: QuoteRequest) => ({
  currencyCode: "EUR",
  payableMinor: 11_070n,
  perGarmentMinor: 554n,
}));

function Signed({ children }: { children: React.ReactNode }) {
  return useSession().session.state === "signed in" ? children : null;
}

function open(path: string, catalog: Partial<ServiceImpl<typeof CatalogService>> = {}) {
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({ person: { name: "people/edith", roles: [Role.OFFICE_EDITOR] } }),
    });
    service(PricesService, { quote });
    service(CatalogService, {
      listRecords: () => ({ records: [{ record, newest: { title: "Retail EU", number: 1n } }] }),
      listRevisions: () => ({ revisions: [] }),
      getRevision: () => ({
        sealed: {
          content: toBinary(
            RevisionSchema,
            create(RevisionSchema, {
              record,
              number: 1n,
              content: { content: { case: "priceList", value: list } },
            }),
          ),
        },
      }),
      ...catalog,
    });
  });
  const memory = memoryLocation({ path, record: true });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={new QueryClient({ defaultOptions: { queries: { retry: false } } })}>
        <SessionProvider>
          <Signed>
            <Router hook={memory.hook} searchHook={memory.searchHook}>
              <Route path="/prices" component={Prices} />
              <Route path="/prices/:list" component={PriceListScreen} />
            </Router>
          </Signed>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return memory;
}

beforeEach(() => {
  unitChoice.set({ ...unitChoice.value(), locale: "en-GB", length: "mm" });
  vi.spyOn(HTMLElement.prototype, "clientWidth", "get").mockReturnValue(800);
});
afterEach(() => {
  cleanup();
  quote.mockClear();
});

describe("Prices", () => {
  it("lists price lists, or says that there is none", async () => {
    open("/prices");
    expect(await screen.findByRole("link", { name: "Retail EU" })).toBeDefined();
    cleanup();
    open("/prices", { listRecords: () => ({ records: [] }) });
    expect(await screen.findByText("No price list yet.")).toBeDefined();
  });
});

describe("a price list", () => {
  it("draws the ladder in rising order and asks the service what an order costs", async () => {
    const memory = open("/prices/eu-retail");
    expect(
      await screen.findByRole("img", {
        name: /A metre of soft falls from €32\.00 to €26\.00 from 3\.00.m on/,
      }),
    ).toBeDefined();
    expect(await screen.findByText("€110.70")).toBeDefined();
    fireEvent.change(screen.getByLabelText("Garments"), { target: { value: "7" } });
    await waitFor(() => expect(quote.mock.calls.at(-1)?.[0].garments[0]?.count).toBe(7n));
    expect(memory.history.at(-1)).toBe("/prices/eu-retail?count=7");
  });
  it("does not ask with a count that is no number", async () => {
    open("/prices/eu-retail?count=many");
    expect(await screen.findByText("This must be a whole number.")).toBeDefined();
    expect(quote).not.toHaveBeenCalled();
  });
  it("says why it could not be loaded", async () => {
    const getRevision = () => {
      throw new ConnectError("none", Code.NotFound);
    };
    open("/prices/nothing", { getRevision });
    expect(await screen.findByText("The price list could not be loaded")).toBeDefined();
  });
  it("draws the last step beyond its start", () => {
    expect(ladderOf(price)).toEqual({
      reachMm: 5_000,
      steps: [
        { fromMm: 0, toMm: 3_000, perMetreMinor: 3_200n },
        { fromMm: 3_000, toMm: 5_000, perMetreMinor: 2_600n },
      ],
    });
  });
});
