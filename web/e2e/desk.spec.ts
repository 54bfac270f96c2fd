// The desk, end to end: a draft that saves itself and takes steps back, two people in one draft, prices out of a
// spreadsheet, two lists side by side, and a second look with the keyboard alone.
import { AxeBuilder } from "@axe-core/playwright";
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 300_000 });
test.use({ actionTimeout: 10_000 });

const question = (page: Page) => page.getByRole("heading", { level: 1 });
const editor = (page: Page) => signIn(page, "editor@evenpeel.example", "quiet-paper-1");
const saved = (page: Page) => expect(page.getByText("Everything is saved.")).toBeVisible();

/** openDraft opens the draft of what is shown, or starts one. */
async function openDraft(page: Page): Promise<void> {
  const start = page
    .getByRole("button", { name: "Edit as a new draft" })
    .or(page.getByRole("link", { name: "Go on with the open draft" }));
  await start.click();
  await expect(question(page)).toHaveText(/complete and right/);
}

async function discard(page: Page): Promise<void> {
  await page.getByRole("button", { name: "Discard this draft…" }).click();
  await page.getByRole("button", { name: "Discard the draft" }).click();
  await expect(question(page)).toHaveText(/Which recipes are there/);
}

/** lookAtImport looks at the import alone: the whole grid below it is long, and looked at elsewhere. */
async function lookAtImport(page: Page, name: string): Promise<void> {
  for (const width of [360, 1440]) {
    await page.setViewportSize({ width, height: 900 });
    const found = await new AxeBuilder({ page }).setLegacyMode(true).include("details").analyze();
    expect(
      found.violations.map(({ id }) => id),
      `${name} ${width}`,
    ).toEqual([]);
    await page
      .locator("details")
      .first()
      .screenshot({ path: `../shots/${name}-light-${width}.png` });
  }
}

test("a draft saves itself, takes steps back, and loses nothing where two people write", async ({
  browser,
}) => {
  const [mine, theirs] = await Promise.all([0, 1].map(async () => (await browser.newContext()).newPage()));
  if (!mine || !theirs) throw new Error("no pages");
  await editor(mine);
  await signIn(theirs, "approver2@evenpeel.example", "second-look-2");
  await mine.goto("/recipes");
  await mine.getByRole("link", { name: "Feather thin on cotton" }).click();
  await openDraft(mine);
  const dwell = (page: Page) => page.getByLabel("Dwell, to set");
  const before = Number(await dwell(mine).inputValue());
  await dwell(mine).fill(String(before + 1));
  await expect(mine.getByText(/1 thing keeps|things keep|Everything is saved/).first()).toBeVisible();
  await saved(mine);
  await mine.getByLabel("Wait before peeling").fill("33");
  await saved(mine);

  await mine.getByLabel("Wait before peeling").press("Control+z");
  await expect(mine.getByLabel("Wait before peeling")).not.toHaveValue("33");
  await mine.getByRole("button", { name: "Undo" }).click();
  await expect(dwell(mine)).toHaveValue(String(before));
  await saved(mine);
  await mine.getByRole("button", { name: "Redo" }).click();
  await saved(mine);
  await look(mine, "draft-saved");
  await mine.reload();
  await expect(dwell(mine), "what was undone and redone is what is kept").toHaveValue(String(before + 1));

  await theirs.goto(mine.url());
  await dwell(theirs).fill(String(before + 2));
  await saved(theirs);
  await theirs.getByLabel("Passes").fill("2");
  await saved(theirs);
  await dwell(mine).fill(String(before + 3));
  await expect(mine.getByText(/saved this draft while you were writing/)).toBeVisible();
  await look(mine, "draft-two-people");
  await mine.getByLabel(`Keep mine: ${before + 3}`, { exact: false }).check();
  await mine.getByRole("button", { name: "Go on writing with both" }).click();
  await saved(mine);
  await expect(mine.getByLabel("Passes")).toHaveValue("2");
  await expect(dwell(mine)).toHaveValue(String(before + 3));
  await discard(mine);
  for (const page of [mine, theirs]) await page.context().close();
});

test("prices come out of a spreadsheet: every fault named, nothing taken before it is accepted", async ({
  page,
}) => {
  await editor(page);
  await page.goto("/prices");
  await page.locator('main a[href^="/prices/"]').first().click();
  await openDraft(page);
  const draft = new URL(page.url()).pathname;
  await page.getByText("Prices out of a spreadsheet, or into one").click();
  const rows = page.getByLabel("Rows pasted from a spreadsheet");
  await rows.fill(
    "Film code\tFrom length (m)\tPrice of a metre\nglimmer\t0\t31.555\nglimmer\tfar\t3\nGlimmer\t2\t3",
  );
  const faults = page.getByRole("table", { name: "What can not be taken over" });
  await expect(faults.getByRole("row")).toHaveCount(4);
  await expect(page.getByText("Mend 3 faults first")).toBeVisible();
  await lookAtImport(page, "prices-faults");

  const download = page.waitForEvent("download");
  await page.getByRole("button", { name: "Save the prices as CSV" }).click();
  const path = await (await download).path();
  await page.locator("input[type=file]").setInputFiles(path);
  await expect(page.getByText("It says what the list says already.")).toBeVisible();

  await rows.fill("glimmer\t0\t31.50\nnew-film\t0\t12.00");
  await expect(page.getByRole("table", { name: "What would change" })).toContainText("added");
  await lookAtImport(page, "prices-import");
  await page.getByRole("button", { name: "Take these prices over" }).click();
  await saved(page);
  await page.getByRole("button", { name: "Undo" }).click();
  await saved(page);
  await page.getByRole("button", { name: "Redo" }).click();
  await saved(page);

  await page.goto("/prices");
  await page.locator('main a[href^="/prices/"]').first().click();
  await page.getByRole("link", { name: "Side by side with the draft" }).click();
  await expect(question(page)).toHaveText("What is different?");
  await expect(page.getByText(/A usual order/)).toBeVisible();
  await expect(page.locator("figcaption", { hasText: /The prices of .+ differ|is new in/ })).toBeVisible();
  await look(page, "side-by-side-prices");
  await page.goto(draft);
  await discard(page);
});

test("a new record starts from any revision of another", async ({ page }) => {
  await editor(page);
  await page.goto("/papers");
  await page.locator('main a[href*="open=notes"]').first().click();
  await page.getByRole("link", { name: "New paper from this one" }).click();
  await page.getByLabel("Short name").fill(`from-another-${Date.now() % 100_000}`);
  await look(page, "new-from-another");
  await page.getByRole("button", { name: "Start the draft" }).click();
  await expect(question(page)).toHaveText("Is this note complete and right?");
  await expect(page.getByLabel("Name", { exact: true })).not.toHaveValue("");
  await discard(page);
});

test("a second look is taken with the keyboard alone, and sends back only with a reason", async ({
  browser,
}) => {
  const [desk, approver] = await Promise.all([0, 1].map(async () => (await browser.newContext()).newPage()));
  if (!desk || !approver) throw new Error("no pages");
  await editor(desk);
  await signIn(approver, "approver@evenpeel.example", "second-look-1");
  await desk.goto("/papers");
  await desk.locator('main a[href*="open=notes"]').first().click();
  await openDraft(desk);
  const draft = new URL(desk.url()).pathname;
  const why = desk.getByLabel("Why the change is made");
  await why.fill("A clearer name");
  const name = desk.getByLabel("Name", { exact: true });
  await name.fill(`${await name.inputValue()}, in plain words`);
  await saved(desk);
  await desk.getByRole("button", { name: "Ask for a second look" }).click();
  await expect(desk.getByText(/^.*Asked: another person/)).toBeVisible();

  await approver.goto(draft.replace("/drafts/", "/second-looks/"));
  await expect(question(approver)).toHaveText("May this be approved?");
  const keys = approver;
  const focused = () => keys.evaluate(() => document.activeElement?.textContent?.trim() ?? "");
  /** tabTo goes on with Tab until what is focused says so. */
  async function tabTo(words: string) {
    for (let presses = 0; presses < 80; presses++) {
      if ((await focused()) === words) return;
      await keys.keyboard.press("Tab");
    }
    throw new Error(`Tab never came to "${words}"`);
  }
  await tabTo("Refuse");
  await approver.keyboard.press("Enter");
  await expect(approver.getByLabel("Reason, when you send it back")).toBeFocused();
  await approver.keyboard.type("Say which market it is for.");
  await tabTo("Refuse");
  await approver.keyboard.press("Enter");
  await expect(question(approver)).toHaveText("It is sent back.");
  await desk.goto(draft);
  await expect(desk.getByText("Say which market it is for.")).toBeVisible();
  await discard(desk);
  for (const page of [desk, approver]) await page.context().close();
});
