import { create, toBinary } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport, type ServiceImpl } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, waitFor } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Router } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider, useSession } from "../../app/session.tsx";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import {
  ComplianceService,
  type JudgeRequest,
} from "../../proto/evenpeel/compliance/v1/compliance_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { CertificateSchema, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import Papers from "./Papers.tsx";
import { validityOf, validityWords } from "./validity.ts";

const record = "certificates/soft-test";
const certificate = create(CertificateSchema, {
  scheme: "Phthalate test",
  number: "TR-44",
  film: "soft",
  kind: "test-report",
  validFrom: "2020-01-01",
  validUntil: "2021-01-01",
});
const judge = vi.fn((_: JudgeRequest) => ({
  disclaimer: "A help, not legal advice.",
  findings: [{ kind: "block", rule: "EU-021", words: "Phthalates must be shown.", citation: "Entry 51" }],
}));

function Signed({ children }: { children: React.ReactNode }) {
  return useSession().session.state === "signed in" ? children : null;
}

function open(path: string, catalog: Partial<ServiceImpl<typeof CatalogService>> = {}) {
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({ person: { name: "people/edith", roles: [Role.OFFICE_EDITOR] } }),
    });
    service(ComplianceService, { judge });
    service(CatalogService, {
      listRecords: ({ kind }) => ({
        records: kind === "certificates" ? [{ record, newest: { title: "Phthalate test", number: 1n } }] : [],
      }),
      getRevision: () => ({
        sealed: {
          content: toBinary(
            RevisionSchema,
            create(RevisionSchema, {
              record,
              content: { content: { case: "certificate", value: certificate } },
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
              <Papers />
            </Router>
          </Signed>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return memory;
}

beforeEach(() => {
  vi.spyOn(HTMLElement.prototype, "clientWidth", "get").mockReturnValue(800);
});
afterEach(() => {
  cleanup();
  judge.mockClear();
});

describe("Papers", () => {
  it("draws what ended and opens a paper from the address", async () => {
    open(`/papers?open=${encodeURIComponent(record)}`);
    expect(await screen.findByRole("img", { name: "Of the only certificate, 1 ended" })).toBeDefined();
    expect(await screen.findByText("TR-44", { selector: "dd" })).toBeDefined();
  });
  it("says that there is none", async () => {
    open("/papers", { listRecords: () => ({ records: [] }) });
    expect(await screen.findByText("No note and no certificate yet.")).toBeDefined();
  });
  it("says when they could not be loaded", async () => {
    const listRecords = () => {
      throw new ConnectError("away", Code.Unavailable);
    };
    open("/papers", { listRecords });
    expect(await screen.findByText("The papers could not be loaded")).toBeDefined();
  });
  it("judges the situation in the address, beside the disclaimer and the child's caution", async () => {
    const memory = open("/papers");
    fireEvent.click(await screen.findByRole("button", { name: "Judge" }));
    expect(await screen.findByRole("link", { name: "Age in months must be a whole number" })).toBeDefined();
    expect(judge).not.toHaveBeenCalled();
    fireEvent.change(screen.getByLabelText("Youngest age, in months"), { target: { value: "24" } });
    fireEvent.click(screen.getByRole("button", { name: "Judge" }));
    expect(await screen.findByText("1 thing stops the sale.")).toBeDefined();
    expect(screen.getByText("A help, not legal advice.")).toBeDefined();
    expect(screen.getByText("This is a child’s garment.")).toBeDefined();
    await waitFor(() => expect(memory.history.at(-1)).toContain("age=24"));
    expect(judge.mock.calls[0]?.[0].situation).toMatchObject({
      market: "EU",
      ageMonths: 24n,
      soldAs: "t-shirt",
    });
  });
});

describe("validity", () => {
  const words = (day: string) => validityWords(validityOf(certificate, Date.parse(`${day}T12:00:00Z`)));
  it.each([
    ["2019-12-31", "not yet: begins in 1 day"],
    ["2020-01-01", "holds, 366 days left"],
    ["2020-11-03", "ends soon: 59 days left"],
    ["2021-01-01", "ends today"],
    ["2021-01-02", "ended 1 day ago"],
  ])("on %s", (day, expected) => {
    expect(words(day)).toBe(expected);
  });
});
