import "fake-indexeddb/auto";
import { create } from "@bufbuild/protobuf";
import { Code } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, waitFor, within } from "@testing-library/react";
import { type ComponentType, type LazyExoticComponent, lazy, Suspense } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Route } from "wouter";
import { SessionProvider, useSession } from "../../app/session.tsx";
import * as saving from "../../kit/saving.ts";
import { CardSchema, RunSchema } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { unitChoice, usualIn } from "../../units/choice.ts";
import { glimmer, hall, listRecord, recipeRecord, velvetRecord } from "./hall.ts";
import { away, faulty, type Hall, newHall, signed } from "./hallFake.ts";
import { forgetHeld } from "./heldSheet.ts";
import { discard, entriesOf } from "./outbox.ts";
import { routes } from "./routes.ts";
import { tablet } from "./tablet.ts";

const screens: [string, LazyExoticComponent<ComponentType>][] = routes.map(({ path, screen: load }) => [
  path,
  lazy(load),
]);

// Screens load their parts, and the machine is shared.
vi.setConfig({ testTimeout: 20_000 });

let at: Hall;
beforeEach(async () => {
  at = newHall();
  localStorage.clear();
  await forgetHeld(hall);
  unitChoice.set({ ...usualIn("en-GB"), locale: "en-GB" });
  for (const { id } of await entriesOf(hall)) await discard(id);
});
afterEach(cleanup);

function SignedIn({ path }: { path: string }) {
  const { session } = useSession();
  const found = screens.find(([pattern]) => pattern === path);
  if (session.state !== "signed in" || !found) return null;
  const [pattern, Found] = found;
  return (
    <Suspense fallback={null}>
      <Route path={pattern}>
        <Found />
      </Route>
    </Suspense>
  );
}

/** open shows the screen behind an address; `path` is its pattern. */
function open(path: string, address = path): void {
  window.history.replaceState(null, "", address);
  const queries = new QueryClient({ defaultOptions: { queries: { networkMode: "always", retry: false } } });
  render(
    <TransportProvider transport={at.transport}>
      <QueryClientProvider client={queries}>
        <SessionProvider>
          <SignedIn path={path} />
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
}

const steps = "/bench/plans/:order/steps";
const outcome = "/bench/plans/:order/outcome";

describe("Bench", () => {
  it("has three tiles, the release and the last order", async () => {
    open("/bench");
    expect((await screen.findByRole("link", { name: /^Continue/ })).getAttribute("href")).toBe(
      "/bench/plans/o1",
    );
    expect(screen.getByRole("link", { name: /^Find card/ }).getAttribute("href")).toBe("/bench/cards");
    expect(screen.getByRole("link", { name: /^New plan/ }).getAttribute("href")).toBe("/bench/plans/new");
    expect(await screen.findByText(/^release 41/)).toBeTruthy();
  });
  it("tells of a new release without reloading", async () => {
    open("/bench");
    await screen.findByText(/^release 41/);
    at.tell(42n);
    expect(await screen.findByText("Release 42 is here.")).toBeTruthy();
  });
  it("says so where the signature was checked, and where something newer is refused by name", async () => {
    const office = await signed();
    open("/bench");
    expect(await screen.findByText("release 41, signature checked")).toBeTruthy();
    const forged = await office.answer([recipeRecord, velvetRecord, listRecord], { number: 42 });
    const release = forged.releases.at(-1);
    if (release) release.signature = new Uint8Array(64);
    at.sheet = forged;
    at.tell(42n);
    expect(await screen.findByText(/Something that came was refused \(SIGNATURE_WRONG\)/)).toBeTruthy();
    expect(screen.getByText("release 41, newer refused: SIGNATURE_WRONG")).toBeTruthy();
  });
  it("says that there is no order yet", async () => {
    at.orders.length = 0;
    open("/bench");
    expect(await screen.findByText("No order yet.")).toBeTruthy();
  });
});

describe("Card", () => {
  it("shows the dial large and the rounding small", async () => {
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    expect(await screen.findByRole("heading", { level: 1, name: "Glimmer on cotton" })).toBeTruthy();
    expect(screen.getByText("Pressure").nextElementSibling?.textContent).toMatch(/^3\.5.bar/);
    expect(screen.getByText(/gives 118.gf \(nearest step\)/)).toBeTruthy();
    expect(screen.getByText(/It does not say that the film will hold/)).toBeTruthy();
  });
  it("refuses plainly and offers no plan", async () => {
    open("/bench/cards/:recipe", "/bench/cards/velvet-nylon");
    expect(await screen.findByText("This card may not be used.")).toBeTruthy();
    expect(screen.queryByRole("link", { name: "Plan with this card" })).toBeNull();
  });
  it("never guesses a recipe that is not in force", async () => {
    open("/bench/cards/:recipe", "/bench/cards/nothing");
    expect(await screen.findByText("No such recipe is in force here.")).toBeTruthy();
  });
  it("works from what is saved when the network is away, and says so", async () => {
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    await screen.findByText("Pressure");
    await waitFor(async () => expect(await (await tablet()).get("answers", `cards:${hall}`)).toBeTruthy());
    cleanup();
    at.failing.set("listCards", away);
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    expect(await screen.findByText("working from what is saved here")).toBeTruthy();
    expect(screen.getByText("Pressure")).toBeTruthy();
  });
  it("turns over by the clock when the next release comes into force with the network away", async () => {
    const office = await signed();
    const effective = Math.floor(Date.now() / 1_000) * 1_000 + 60_000;
    at.sheet = await office.answer([recipeRecord, velvetRecord, listRecord], {
      next: { revisions: [recipeRecord, velvetRecord, listRecord], effective },
    });
    at.nextCards = [create(CardSchema, { ...glimmer, title: "Glimmer, a little longer", release: 42n })];
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    expect(await screen.findByRole("heading", { level: 1, name: "Glimmer on cotton" })).toBeTruthy();
    const kept = `cards:${hall}:at:${effective}`;
    await waitFor(async () => expect(await (await tablet()).get("answers", kept)).toBeTruthy());
    cleanup();
    for (const call of ["listCards", "pullSheet"]) at.failing.set(call, away);
    const clock = Date.now;
    vi.spyOn(Date, "now").mockImplementation(() => clock() + 120_000);
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    expect(await screen.findByRole("heading", { level: 1, name: "Glimmer, a little longer" })).toBeTruthy();
    expect(screen.getByText(/^New since/)).toBeTruthy();
    expect(screen.getByText("working from what is saved here")).toBeTruthy();
  });
  it("shows no settings that head office did not sign", async () => {
    at.cards = [create(CardSchema, { ...glimmer, sha256: new Uint8Array(32) })];
    open("/bench/cards/:recipe", "/bench/cards/glimmer-cotton");
    expect(await screen.findByText("This card is not what head office signed.")).toBeTruthy();
    expect(screen.queryByText("Pressure")).toBeNull();
  });
  it("shows the server's words when it can not be loaded", async () => {
    await (await tablet()).clear("answers");
    at.failing.set("listCards", faulty(Code.NotFound, { kind: "NOT_FOUND", words: "No such branch." }));
    open("/bench/cards");
    expect(await screen.findByText(/No such branch\./)).toBeTruthy();
    expect(screen.getByText("Reference 7F3A")).toBeTruthy();
  });
});

describe("New plan", () => {
  async function choose(content = "<svg/>", name = "star.svg") {
    const input = document.querySelector<HTMLInputElement>("input[type=file]");
    if (!input) throw new Error("no file input");
    fireEvent.change(input, { target: { files: [new File([content], name)] } });
  }
  it("goes from drawing to accepted order, with the same id however often it is tried", async () => {
    at.failing.set("createOrder", away);
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    await choose();
    expect(await screen.findByText(/A stroke of 0\.4 mm/)).toBeTruthy();
    fireEvent.change(screen.getByLabelText("Film and fabric"), {
      target: { value: "recipes/glimmer-cotton" },
    });
    await screen.findByRole("option", { name: "gold" });
    fireEvent.change(screen.getByLabelText("Colour"), { target: { value: "gold" } });
    expect(await screen.findByText("Ask for €12.05", {}, { timeout: 3000 })).toBeTruthy();
    expect(screen.getByText("This is a help, not legal advice.")).toBeTruthy();
    await waitFor(() => expect(screen.queryByText("Working it out…")).toBeNull());
    fireEvent.click(screen.getByRole("button", { name: "Accept" }));
    expect(await screen.findByText("The plan was not accepted")).toBeTruthy();
    at.failing.clear();
    fireEvent.click(screen.getByRole("button", { name: "Accept" }));
    await waitFor(() => expect(location.pathname).toBe("/bench/plans/o1"));
    expect(at.created).toHaveLength(1);
  });
  it("asks for the size where the file does not say it", async () => {
    at.failing.set("readDrawing", faulty(Code.InvalidArgument, { kind: "INVALID", reason: "NO_SIZE" }));
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    await choose();
    fireEvent.change(await screen.findByLabelText("How wide is the design?"), { target: { value: "3" } });
    fireEvent.click(screen.getByRole("button", { name: "Read it this wide" }));
    expect(await screen.findByText(/A stroke of 0\.4 mm/)).toBeTruthy();
    expect(at.read.at(-1)).toEqual({ widthUm: 3_000n, heightUm: 0n, unitNm: 0n });
  });
  it("asks by height too, and for the unit where the file is no SVG", async () => {
    at.failing.set("readDrawing", faulty(Code.InvalidArgument, { kind: "INVALID", reason: "NO_SIZE" }));
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    await choose();
    fireEvent.click(await screen.findByRole("radio", { name: "How high it is" }));
    expect(screen.queryByRole("radio", { name: "Its numbers are inches" })).toBeNull();
    fireEvent.click(screen.getByRole("button", { name: "Read it this high" }));
    expect(await screen.findByText("Say how high the design is.")).toBeTruthy();
    fireEvent.change(screen.getByLabelText("How high is the design?"), { target: { value: "60" } });
    fireEvent.click(screen.getByRole("button", { name: "Read it this high" }));
    await waitFor(() => expect(at.read.at(-1)).toEqual({ widthUm: 0n, heightUm: 60_000n, unitNm: 0n }));
    await choose("IN;PU0,0;PD40,0;", "star.plt");
    fireEvent.click(await screen.findByRole("radio", { name: "Its numbers are plotter units of 0.025 mm" }));
    fireEvent.click(screen.getByRole("button", { name: "Read it in this unit" }));
    await waitFor(() => expect(at.read.at(-1)).toEqual({ widthUm: 0n, heightUm: 0n, unitNm: 25_000n }));
  });
  it("shows where the design lands, and fills the widths in by size", async () => {
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    await choose();
    expect(await screen.findByRole("img", { name: /t-shirt, front, size M.*75.mm below/ })).toBeTruthy();
    expect(screen.getByText("The design is narrow. Make it wider.")).toBeTruthy();
    fireEvent.change(screen.getByLabelText("Placement"), { target: { value: "left-chest" } });
    expect(await screen.findByRole("img", { name: /towards the wearer’s left/ })).toBeTruthy();
    fireEvent.click(screen.getByRole("button", { name: "Add a size" }));
    const sizes = screen.getAllByLabelText("Size");
    fireEvent.change(sizes[1] as Element, { target: { value: "L" } });
    fireEvent.click(screen.getByRole("button", { name: "Fill the widths by size" }));
    expect(
      await screen.findByText(/Filled in from 80.mm on M\. Held at what is usual there: L\./),
    ).toBeTruthy();
    const widths = screen.getAllByLabelText(/^Design width/) as HTMLInputElement[];
    expect(widths.map(({ value }) => value)).toEqual(["80", "100"]);
    fireEvent.change(screen.getByLabelText("Sold as"), { target: { value: "bag" } });
    expect((screen.getByLabelText("Placement") as HTMLSelectElement).value).toBe("bag-front");
    fireEvent.change(screen.getByLabelText("Sold as"), { target: { value: "hat" } });
    expect(await screen.findByText("This cut has no outline here.")).toBeTruthy();
  });
  it("says why the widths were not filled in", async () => {
    at.failing.set(
      "gradeDesign",
      faulty(Code.InvalidArgument, { kind: "INVALID", words: "80 mm is not usual on M." }),
    );
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    await choose();
    await screen.findByRole("img", { name: /size M/ });
    fireEvent.click(screen.getByRole("button", { name: "Add a size" }));
    fireEvent.change(screen.getAllByLabelText("Size")[1] as Element, { target: { value: "L" } });
    fireEvent.click(screen.getByRole("button", { name: "Fill the widths by size" }));
    expect(await screen.findByText(/80 mm is not usual on M/)).toBeTruthy();
  });
  it("lists what is missing instead of accepting", async () => {
    open("/bench/plans/new");
    await screen.findByText("Choose the drawing to cut.");
    fireEvent.click(screen.getByRole("button", { name: "Accept" }));
    const summary = await screen.findByRole("alert", { name: "There is a problem" });
    expect(within(summary).getByText("Choose the film and fabric.")).toBeTruthy();
  });
});

describe("Steps", () => {
  it("is run by a pedal, which never skips a timer", async () => {
    open(steps, "/bench/plans/o1/steps?step=place");
    await screen.findByRole("heading", { level: 1, name: "Place the design" });
    fireEvent.keyDown(document.body, { key: "PageDown" });
    expect(await screen.findByRole("heading", { level: 1, name: "Press" })).toBeTruthy();
    fireEvent.keyDown(document.body, { key: " " });
    expect((await screen.findByRole("timer")).textContent).toBe("0:12");
    fireEvent.keyDown(document.body, { key: "PageDown" });
    expect(location.search).toContain("step=press");
    fireEvent.keyDown(document.body, { key: "PageUp" });
    expect(await screen.findByRole("heading", { level: 1, name: "Place the design" })).toBeTruthy();
  });
  it("shows where to place the design, from what is kept when the network is away", async () => {
    open(steps, "/bench/plans/o1/steps");
    await screen.findByRole("heading", { level: 1 });
    await waitFor(async () =>
      expect(await (await tablet()).get("answers", `landing:${hall}/orders/o1`)).toBeTruthy(),
    );
    cleanup();
    at.failing.set("landDesign", away);
    open(steps, "/bench/plans/o1/steps?step=place");
    expect(
      await screen.findByRole("img", { name: /t-shirt, front, size M.*190.mm below the highest point/ }),
    ).toBeTruthy();
  });
  it("keeps the end of a timer over a reload, and how late the bell was stopped", async () => {
    const ends = Date.now() - 2_500;
    localStorage.setItem(
      `evenpeel:work:${hall}/orders/o1:1`,
      JSON.stringify({ startedAt: ends, timers: [{ key: "press-1", ends, late: null }] }),
    );
    const { workOn } = await import("./work.ts");
    expect(workOn(`${hall}/orders/o1`, 1).value().timers[0]?.ends).toBe(ends);
  });
  it("says that a film of the plan does not exist", async () => {
    open(steps, "/bench/plans/o1/steps?layout=7");
    expect(await screen.findByText("This plan has no such film.")).toBeTruthy();
  });
});

describe("Outcome and Waiting", () => {
  it("saves on this tablet first and is then confirmed", async () => {
    open(outcome, "/bench/plans/o1/outcome");
    fireEvent.click(await screen.findByRole("button", { name: "More: Wrinkle" }));
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    expect(await screen.findByText("confirmed")).toBeTruthy();
    expect(at.runs).toHaveLength(1);
    expect(at.runs[0]?.reprints.map(({ cause, count }) => [cause, count])).toEqual([["wrinkle", 1n]]);
    expect(at.runs[0]?.drawnMm).toBe(300n);
    expect(at.runs[0]?.recipe).toBe(glimmer.revision);
  });
  it("keeps what can not be sent, and sends it when asked", async () => {
    at.failing.set("reportRuns", away);
    open(outcome, "/bench/plans/o1/outcome");
    fireEvent.click(await screen.findByRole("button", { name: "Save" }));
    expect(await screen.findByText("saved on this tablet")).toBeTruthy();
    cleanup();
    at.failing.clear();
    open("/bench/waiting");
    fireEvent.click(await screen.findByRole("button", { name: "Send now" }));
    expect(await screen.findByText("Everything is sent.")).toBeTruthy();
    expect(at.runs).toHaveLength(1);
  });
  it("keeps a refused run with the reason, to be fixed or discarded", async () => {
    at.failing.set(
      "reportRuns",
      faulty(Code.InvalidArgument, { kind: "INVALID", words: "The lot is not known here." }),
    );
    open(outcome, "/bench/plans/o1/outcome");
    fireEvent.click(await screen.findByRole("button", { name: "Save" }));
    expect(await screen.findByText("The lot is not known here.")).toBeTruthy();
    cleanup();
    at.failing.set("moveRoll", away);
    open("/bench/waiting");
    const fix = await screen.findByRole("link", { name: "Fix" });
    expect(fix.getAttribute("href")).toMatch(/^\/bench\/plans\/o1\/outcome\?entry=/);
    const row = fix.closest("li");
    if (!row) throw new Error("the entry stands in no row");
    fireEvent.click(within(row).getByRole("button", { name: "Discard" }));
    const dialog = await screen.findByRole("dialog");
    fireEvent.click(within(dialog).getByRole("button", { name: "Discard" }));
    await waitFor(() => expect(screen.queryByRole("link", { name: "Fix" })).toBeNull());
    expect((await entriesOf(hall)).some(({ kind }) => kind === "run")).toBe(false);
  });
  it("does not save what can not be true", async () => {
    open(outcome, "/bench/plans/o1/outcome");
    fireEvent.change(await screen.findByLabelText("Good garments"), { target: { value: "9" } });
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    expect((await screen.findByRole("alert")).textContent).toContain("9 good garments are more than the 2");
    expect(await entriesOf(hall)).toEqual([]);
  });
});

describe("a run that was reported wrong", () => {
  const wrong = {
    id: "0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21",
    branch: hall,
    film: "glimmer",
    colour: "gold",
    recipe: "recipes/glimmer-cotton/revisions/3",
    piecesCount: 4n,
    goodCount: 4n,
    drawnMm: 400n,
    drawnAreaMm2: 200_000n,
    decoratedAreaMm2: 40_000n,
    achievableAreaMm2: 160_000n,
    layoutLossMm2: 100_000n,
    endTime: { seconds: 1_795_600_000n },
  };
  it("is corrected whole, and says which one it takes the place of", async () => {
    at.runs.push(create(RunSchema, wrong));
    open("/bench/runs/:run", `/bench/runs/${wrong.id}`);
    fireEvent.change(await screen.findByLabelText("Good garments"), { target: { value: "3" } });
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    expect(await screen.findByText("Corrected.")).toBeTruthy();
    const correction = at.runs.at(-1);
    expect(correction).toMatchObject({
      corrects: wrong.id,
      goodCount: 3n,
      piecesCount: 4n,
      decoratedAreaMm2: 30_000n,
    });
    expect(correction?.endTime?.seconds).toBe(1_795_600_000n);
    expect(correction?.id).not.toBe(wrong.id);
  });
  it("is not corrected twice", async () => {
    at.runs.push(create(RunSchema, { ...wrong, correctedBy: "another" }));
    open("/bench/runs/:run", `/bench/runs/${wrong.id}`);
    expect(await screen.findByText("This run was corrected already.")).toBeTruthy();
  });
});

describe("Plan, Stock and Machines", () => {
  it("offers the cut file in four formats, and a picture of it", async () => {
    open("/bench/plans/:order", "/bench/plans/o1");
    for (const words of ["SVG", "HP-GL", "DXF", "PDF"])
      expect(await screen.findByRole("button", { name: `Save as ${words}` })).toBeTruthy();
    const saved = vi.spyOn(saving, "saveFile").mockImplementation(() => undefined);
    fireEvent.click(screen.getByRole("button", { name: "PNG preview" }));
    expect(await screen.findByText(/a picture to look at/)).toBeTruthy();
    expect(saved).toHaveBeenCalledOnce();
    expect(screen.getByRole("link", { name: "Start" }).getAttribute("href")).toBe("/bench/plans/o1/steps");
  });
  it("draws the shelves, and refuses a roll without a length", async () => {
    open("/stock");
    expect(await screen.findByRole("heading", { name: "Glimmer glitter" })).toBeTruthy();
    expect(screen.getByText(/One film runs low/)).toBeTruthy();
    fireEvent.click(screen.getByRole("button", { name: "Take a roll in" }));
    fireEvent.click(await screen.findByRole("button", { name: "Take it in" }));
    expect(within(await screen.findByRole("alert")).getByText("Say how long it is.")).toBeTruthy();
  });
  it("opens one roll, counts it, and says what the count changed", async () => {
    open("/stock");
    fireEvent.click(await screen.findByRole("link", { name: /shelf 2/ }));
    expect(await screen.findByRole("rowheader", { name: "Taken in" })).toBeTruthy();
    fireEvent.click(screen.getByRole("button", { name: "Count it" }));
    fireEvent.click(await screen.findByRole("button", { name: "Store the count" }));
    expect(within(await screen.findByRole("alert")).getByText("Say how much was measured.")).toBeTruthy();
    fireEvent.change(screen.getByLabelText("Length measured"), { target: { value: "4.05" } });
    fireEvent.click(screen.getByRole("button", { name: "Store the count" }));
    expect(await screen.findByText(/Counted: −0.15 m against the account/)).toBeTruthy();
  });
  it("refuses a remnant that is longer than the roll before it asks the server", async () => {
    open("/stock", "/stock?roll=r1&do=remnant");
    fireEvent.change(await screen.findByLabelText("Length cut off"), { target: { value: "9" } });
    fireEvent.click(screen.getByRole("button", { name: "Put it away" }));
    expect(within(await screen.findByRole("alert")).getByText(/Only 4.20 m are left/)).toBeTruthy();
  });
  it("doubts the account where the diameters say otherwise, and offers a count", async () => {
    open("/stock", "/stock?roll=r1&do=diameters");
    fireEvent.change(await screen.findByLabelText("Across the whole roll"), { target: { value: "90" } });
    fireEvent.change(screen.getByLabelText("Across its core"), { target: { value: "80" } });
    fireEvent.click(screen.getByRole("button", { name: "Estimate" }));
    expect(await screen.findByText(/The account may be wrong/)).toBeTruthy();
    expect(screen.getAllByRole("button", { name: "Count it" })).toHaveLength(2);
  });
  it("lets the branch's manager correct a calibration", async () => {
    open("/machines");
    fireEvent.click(await screen.findByRole("button", { name: "Correct calibration of Roll cutter" }));
    fireEvent.change(await screen.findByLabelText("Measured 1 (gf)"), { target: { value: "many" } });
    fireEvent.click(screen.getByRole("button", { name: "Store the calibration" }));
    expect((await screen.findByRole("alert")).textContent).toContain("“many” can not be read");
    fireEvent.change(screen.getByLabelText("Measured 1 (gf)"), { target: { value: "53" } });
    fireEvent.click(screen.getByRole("checkbox", { name: /It reads the long numbers/ }));
    fireEvent.change(screen.getByLabelText("Overcut"), { target: { value: "" } });
    fireEvent.click(screen.getByRole("button", { name: "Store the calibration" }));
    expect((await screen.findByRole("alert")).textContent).toContain("Say the overcut");
    fireEvent.change(screen.getByLabelText("Overcut"), { target: { value: "0.5" } });
    fireEvent.click(screen.getByRole("button", { name: "Store the calibration" }));
    expect(await screen.findByText(/Stored: Roll cutter/)).toBeTruthy();
    expect(at.saved.at(-1)).toMatchObject({ longNumbers: true, overcutUm: 500n, unitsPerMetre: 40_000n });
  });
});
