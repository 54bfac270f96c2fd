// A release as it is lived: somebody asks, another sees what it would change and approves; a scheduled one is cancelled;
// a trial is widened and taken back; the past tells all of it. Only at branches where no other journey works.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ mode: "serial", timeout: 240_000 });
test.use({ actionTimeout: 20_000 });

const question = (page: Page) => page.getByRole("heading", { level: 1 });
const approver = (page: Page) => signIn(page, "approver@evenpeel.example", "second-look-1");
const numberOf = (page: Page) => Number(new URL(page.url()).pathname.split("/").at(-1));
const sieve = encodeURIComponent("recipes/sieve-stretch/revisions/2");

/** only narrows a release to the branches named. */
async function only(page: Page, market: string, ...branches: string[]): Promise<void> {
  await page.getByRole("checkbox", { name: market, exact: true }).check();
  await page.getByRole("radio", { name: /^Only branches that I name/ }).check();
  for (const branch of branches) await page.getByRole("checkbox", { name: new RegExp(`^${branch}`) }).check();
}

/** released waits for the release just made, and gives its number. */
async function released(page: Page): Promise<number> {
  await expect(question(page)).toHaveText(/What does release \d+ put in force\?/);
  const number = numberOf(page);
  await expect(page.getByText(`Release ${number} is done.`)).toBeVisible();
  return number;
}

test("an editor asks for a release, an approver sees what it would change, and reach shows it", async ({
  browser,
}) => {
  const [desk, second] = await Promise.all([0, 1].map(async () => (await browser.newContext()).newPage()));
  if (!desk || !second) throw new Error("no pages");
  await signIn(desk, "editor@evenpeel.example", "quiet-paper-1");
  await desk.goto(`/releases/new?with=${sieve}`);
  await only(desk, "UK", "Topfold Yard");
  const reason = desk.getByLabel("Reason");
  await reason.fill("Topfold Yard asks for the lower pressure");
  await expect(desk.getByText("Changes something at 1 of 1 branch.")).toBeVisible();
  await look(desk, "release-asked-for");
  // From the reason on with the keyboard alone.
  await reason.press("Tab");
  await desk.getByRole("button", { name: "Ask a second person" }).focus();
  await desk.keyboard.press("Enter");
  await expect(desk.getByText(/It waits for a second person/)).toBeVisible();

  await approver(second);
  await second.goto("/releases");
  const asked = second.getByRole("article").filter({ hasText: "Topfold Yard asks for" });
  await asked.getByRole("button", { name: "What would change" }).press("Enter");
  await expect(asked.getByText("Changes something at 1 of 1 branch.")).toBeVisible();
  await expect(asked.getByRole("heading", { name: /revision 1 → revision 2/ })).toBeVisible();
  await look(second, "release-second-look");
  await asked.getByRole("button", { name: "Approve and release" }).press("Enter");
  const number = await released(second);
  await expect(second.getByText("Mira Oakhill")).toBeVisible();

  await second.goto("/reach?branch=topfold-yard");
  await expect(second.getByText(new RegExp(`release ${number}, since`)).first()).toBeVisible();
  for (const page of [desk, second]) await page.context().close();
});

test("a scheduled release is cancelled by another, and stays on the line", async ({ page }) => {
  await approver(page);
  await page.goto(`/releases/new?with=${sieve}`);
  await only(page, "UK", "Weavers Fold");
  await page.getByText("From a later time").click();
  await page.getByLabel("Date and time where you are").fill("2099-01-11T06:00");
  await expect(page.getByText("The instant: is more than a year ahead.")).toBeVisible();
  const inSummer = new Date(Date.now() + 200 * 86_400_000).toISOString().slice(0, 16);
  await page.getByLabel("Date and time where you are").fill(inSummer);
  await page.getByRole("button", { name: "Release", exact: true }).click();
  const number = await released(page);
  await page.getByRole("button", { name: "Cancel it" }).click();
  const dialog = page.getByRole("dialog", { name: `Cancel release ${number}?` });
  await dialog.getByLabel("Why").fill("The press there is away");
  await dialog.getByRole("button", { name: `Cancel release ${number}` }).click();
  await expect(page.getByText(/Cancelled by release \d+, never in force/)).toBeVisible();
  await expect(page.getByRole("link", { name: "Widen it" })).toHaveCount(0);
  await look(page, "release-cancelled-now");
  await page.goto("/releases");
  await expect(page.getByText(`Cancels release ${number}`)).toBeVisible();
});

test("a trial is widened, taken back, and the past shows every step", async ({ page }) => {
  await approver(page);
  await page.goto(`/releases/new?with=${sieve}`);
  await only(page, "UK", "Weavers Fold");
  await page.getByRole("button", { name: "Release", exact: true }).click();
  const trial = await released(page);
  await expect(page.getByText("A trial: a few branches work by it")).toBeVisible();

  await page.getByRole("link", { name: "Widen it" }).click();
  await expect(page.getByText(`Widens release ${trial}`)).toBeVisible();
  await page.getByRole("radio", { name: /^Only branches that I name/ }).check();
  for (const branch of ["Weavers Fold", "Gorse Hill"])
    await page.getByRole("checkbox", { name: new RegExp(`^${branch}`) }).check();
  await page.getByRole("button", { name: "Release", exact: true }).click();
  const widened = await released(page);
  await expect(page.getByRole("link", { name: `release ${trial}`, exact: true })).toBeVisible();

  await page.goto(`/releases/${widened}`);
  await page.getByRole("link", { name: "Go back to what stood before" }).click();
  await expect(page.getByLabel("Reason")).toHaveValue(`Goes back to what stood before release ${widened}`);
  await expect(
    page.getByText(/branches differed in .*; what stood at most of them is planned here/),
  ).toBeVisible();
  await look(page, "release-go-back");
  await page.getByRole("button", { name: "Release", exact: true }).click();
  const back = await released(page);
  expect(back).toBeGreaterThan(widened);

  await page.goto("/past?branch=gorse-hill");
  const row = page.getByRole("row", { name: /Sieve mesh on stretch/ });
  await expect(row.getByRole("link", { name: String(back), exact: true })).toBeVisible();
  await expect(page.getByText("The chain of releases is whole")).toBeVisible();
  await page.goto("/past/acts");
  await page.getByRole("button", { name: "Check the whole chain" }).press("Enter");
  await expect(
    page
      .getByRole("status")
      .filter({ hasText: /whole|follows/ })
      .first(),
  ).toBeVisible();
});
