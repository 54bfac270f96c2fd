// What people come for, end to end on the service with its demo data: a recipe is changed, looked at twice and
// released; the branch hears of it, plans, presses and reports; the franchise compares. In that order, as in life.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ mode: "serial", timeout: 240_000 });
test.use({ actionTimeout: 10_000 });

const badge = "../recipes/cut/testdata/badge.svg";
const question = (page: Page) => page.getByRole("heading", { level: 1 });

/** openCard finds the recipe of these journeys among the cards of the branch. */
async function openCard(page: Page): Promise<void> {
  await page.goto("/bench/cards");
  await page.getByLabel("Film or fabric").fill("glimmer cotton");
  await page.getByLabel("Film or fabric").press("Enter");
  await expect(question(page)).toHaveText("Glimmer glitter on cotton");
}

/** planBadge says everything that a plan needs, and waits for the plan. */
async function planBadge(page: Page): Promise<void> {
  await page.locator("input[type=file]").setInputFiles(badge);
  await expect(page.getByRole("button", { name: "Choose another file" })).toBeVisible();
  await page.getByLabel("Film and fabric").selectOption({ label: "Glimmer glitter on cotton" });
  await page.getByLabel("Colour", { exact: true }).selectOption({ index: 1 });
  await page.getByLabel("How many", { exact: true }).fill("2");
  await page.getByLabel("Design width").fill("240");
  await expect(page.getByText("Not enough is said yet.")).toHaveCount(0);
}

test("a changed recipe goes from the desk by a second look to the bench, which hears of it", async ({
  browser,
}) => {
  const [desk, approver, bench] = await Promise.all(
    [0, 1, 2].map(async () => (await browser.newContext()).newPage()),
  );
  if (!desk || !approver || !bench) throw new Error("no pages");
  await signIn(desk, "editor@evenpeel.example", "quiet-paper-1");
  await signIn(approver, "approver@evenpeel.example", "second-look-1");
  await signIn(bench, "operator.eu@evenpeel.example", "warm-platen-1");
  await bench.goto("/bench");
  await expect(bench.getByText(/release \d+/).first()).toBeVisible();

  await desk.goto("/recipes");
  await desk.getByRole("link", { name: "Glimmer glitter on cotton" }).click();
  await expect(question(desk)).toHaveText("Glimmer glitter on cotton");
  await desk.getByRole("button", { name: "Edit as a new draft" }).click();
  const dwell = desk.getByLabel("Dwell, to set");
  const before = Number(await dwell.inputValue());
  const after = String(before + 1);
  await dwell.fill(after);
  await desk.getByLabel("Why the change is made").fill("Corners of large designs lifted after the wash");
  await desk.getByRole("button", { name: "Save" }).click();
  await expect(desk.getByText(/^Everything is saved\./)).toBeVisible();
  await look(desk, "draft");
  const draft = new URL(desk.url()).pathname;

  await desk.goto("/recipes");
  await desk.getByRole("link", { name: "Glimmer glitter on cotton" }).click();
  await desk.getByRole("link", { name: "Side by side with the draft" }).click();
  await expect(desk.getByText("Dwell, to set").first()).toBeVisible();
  await look(desk, "side-by-side");

  await desk.goto(draft);
  await desk.getByRole("button", { name: "Ask for a second look" }).click();
  await expect(desk.getByText(/Asked: another person/)).toBeVisible();

  await approver.goto("/second-looks");
  await look(approver, "second-looks-waiting");
  await approver.getByRole("link", { name: /glimmer-cotton/ }).click();
  await expect(question(approver)).toHaveText("May this be approved?");
  await expect(approver.getByText("Corners of large designs lifted")).toBeVisible();
  await expect(approver.getByText(`${after} s`).first()).toBeVisible();
  await look(approver, "second-look");
  await approver.getByRole("button", { name: "Approve" }).click();
  await expect(question(approver)).toHaveText("It is approved.");
  await approver.getByRole("link", { name: "Release it" }).click();
  await expect(
    approver.getByRole("checkbox", { name: /^Glimmer glitter on cotton, revision \d+/ }),
  ).toBeChecked();
  await approver.getByRole("checkbox", { name: "EU", exact: true }).check();
  await approver.getByRole("checkbox", { name: "UK", exact: true }).check();
  await look(approver, "new-release-ready");
  await approver.getByRole("button", { name: "Release", exact: true }).click();
  await expect(question(approver)).toHaveText(/What does release \d+ put in force\?/);
  const release = new URL(approver.url()).pathname.split("/").at(-1);
  await expect(approver.getByText(`Release ${release} is done.`)).toBeVisible();

  await expect(bench.getByText(`Release ${release} is here.`)).toBeVisible();
  await look(bench, "bench-news");
  await bench.getByRole("link", { name: /^Find card/ }).click();
  await bench.getByLabel("Film or fabric").fill("glimmer cotton");
  await bench.getByLabel("Film or fabric").press("Enter");
  await expect(question(bench)).toHaveText("Glimmer glitter on cotton");
  await expect(bench.getByText(new RegExp(`release ${release}\\b`)).first()).toBeVisible();
  for (const page of [desk, approver, bench]) await page.context().close();
});

test("a branch plans a drawing, cuts, presses and reports, and the report is confirmed", async ({ page }) => {
  await signIn(page, "operator.eu@evenpeel.example", "warm-platen-1");
  await openCard(page);
  await look(page, "card");
  await page.getByRole("link", { name: "Plan with this card" }).click();
  await planBadge(page);
  await page.getByText("Name, lot, weight of the cloth").click();
  await page.getByLabel("Name of the order").fill("Badge for the harbour fair");
  await expect(page.getByRole("heading", { name: /^Ask for / })).toBeVisible();
  await expect(page.getByText(/\d+ garments\./)).toBeVisible();
  await look(page, "new-plan-ready");
  await page.getByRole("button", { name: "Accept" }).click();

  await expect(question(page)).toHaveText("Is everything ready to start?");
  await look(page, "kept-plan");
  const download = page.waitForEvent("download");
  await page.getByRole("button", { name: "Save as SVG" }).click();
  expect((await download).suggestedFilename()).toMatch(/\.svg$/);
  await expect(page.getByText(/It is mirrored already/)).toBeVisible();

  await page.getByRole("link", { name: "Start", exact: true }).click();
  const seen = new Set<string>();
  const main = page.getByRole("button", { name: /^(Next|Start the timer|Bell off|Good, next|Done: report)/ });
  while (new URL(page.url()).pathname.endsWith("/steps")) {
    const step = (await question(page).textContent()) ?? "";
    const at = page.url();
    if (!seen.has(step)) {
      seen.add(step);
      if (step === "Press") await look(page, "step-press");
    }
    const words = (await main.textContent()) ?? "";
    await main.click();
    if (words.startsWith("Start the timer"))
      await page.getByRole("button", { name: "Go on before the time is over" }).click();
    await page.waitForURL((url) => url.href !== at);
  }
  expect([...seen]).toEqual(
    expect.arrayContaining(["Load the film", "Cut", "Weed", "Press", "Wait, then peel"]),
  );

  await expect(question(page)).toHaveText("How did it go?");
  await page.getByRole("button", { name: /^More: Edge/ }).click();
  await look(page, "outcome");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await expect(page.getByText("Head office's ledger holds it.")).toBeVisible();
  await page.goto("/bench/waiting");
  await expect(page.getByText("Everything is sent.")).toBeVisible();
  await look(page, "waiting");
});

test("the franchise manager finds the branch that stands out, and why", async ({ page }) => {
  await signIn(page, "franchise@evenpeel.example", "fair-view-24");
  await page.getByRole("link", { name: "Fair view" }).first().click();
  const row = page
    .getByRole("table", { name: "Branches", exact: true })
    .getByRole("row", { name: /Tanner Row/ });
  await expect(row).toContainText("above the 99.8 % limit");
  await row.getByRole("link", { name: "Tanner Row" }).click();
  await expect(question(page)).toHaveText("What happened at Tanner Row?");
  await expect(page.locator("figcaption", { hasText: "reprints come from edge lifts" })).toBeVisible();
});

test("a drawing that can not be read is refused in one sentence, one without size is asked for its width", async ({
  page,
}) => {
  await signIn(page, "operator.eu@evenpeel.example", "warm-platen-1");
  await page.goto("/bench/plans/new");
  const drop = page.locator("input[type=file]");
  await drop.setInputFiles({
    name: "notes.svg",
    mimeType: "text/plain",
    buffer: Buffer.from("not a drawing"),
  });
  const refused = page.getByRole("alert").filter({ hasText: "The drawing could not be read" });
  await expect(refused).toBeVisible();
  await expect(refused.getByRole("paragraph").nth(1)).toHaveText(/^[A-Z].+\.$/);
  await look(page, "drawing-refused");
  await drop.setInputFiles({
    name: "sizeless.svg",
    mimeType: "image/svg+xml",
    buffer: Buffer.from(
      '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40"><path d="M0 0H40V40H0Z"/></svg>',
    ),
  });
  await page.getByLabel("How wide is the design?").fill("80");
  await page.getByRole("button", { name: "Read it this wide" }).click();
  await expect(page.getByLabel("How wide is the design?")).toHaveCount(0);
  await expect(refused).toHaveCount(0);
});

test("an ended session asks who is here, and the same person goes on where they were", async ({ page }) => {
  await signIn(page, "operator.eu@evenpeel.example", "warm-platen-1");
  await page.goto("/bench");
  await expect(page.getByRole("link", { name: /^Find card/ })).toBeVisible();
  await page.context().clearCookies();
  // The watch may notice first and ask at once; either way the person comes out where they were going.
  await page.evaluate(() => history.pushState(null, "", "/bench/plans/new"));
  const dialog = page.getByRole("dialog", { name: "Your session has ended. Who is here?" });
  await expect(dialog).toBeVisible();
  await dialog.getByLabel("E-mail address").fill("operator.eu@evenpeel.example");
  await dialog.getByLabel("Password").fill("warm-platen-1");
  await dialog.getByRole("button", { name: "Sign in" }).click();
  await expect(dialog).toHaveCount(0);
  await expect(question(page)).toHaveText("How does it lie on the roll, and how much film?");
  await expect(page.getByLabel("Film and fabric")).toBeVisible();
});
