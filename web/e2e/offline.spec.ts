// The bench with the network down: opened anew from what the tablet keeps, and a release that comes into force
// meanwhile by the clock.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 120_000 });
test.use({ actionTimeout: 10_000 });

const question = (page: Page) => page.getByRole("heading", { level: 1 });
const card = "/bench/cards/glimmer-cotton";

/** kept waits until the worker keeps the page on this device and answers for it. */
async function kept(page: Page): Promise<void> {
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
    if (!navigator.serviceWorker.controller)
      await new Promise((done) => navigator.serviceWorker.addEventListener("controllerchange", done));
  });
}

/** answerKept waits until an answer is in the tablet's own storage. */
const answerKept = (page: Page, key: RegExp) =>
  expect
    .poll(() =>
      page.evaluate(
        () =>
          new Promise<string[]>((done) => {
            const open = indexedDB.open("evenpeel-bench");
            open.onsuccess = () => {
              const keys = open.result.transaction("answers").objectStore("answers").getAllKeys();
              keys.onsuccess = () => {
                open.result.close();
                done(keys.result.map(String));
              };
            };
          }),
      ),
    )
    .toEqual(expect.arrayContaining([expect.stringMatching(key)]));

test("the bench opens with the network down: card, orders, what waits", async ({ page, context }) => {
  await signIn(page, "operator.uk@evenpeel.example", "warm-platen-2");
  await page.goto("/bench");
  await expect(page.getByText(/release \d+, signature checked/)).toBeVisible();
  await kept(page);
  await page.goto(card);
  await expect(page.getByText(/signature checked/)).toBeVisible();
  await answerKept(page, /^cards:/);
  await answerKept(page, /^orders:/);
  await answerKept(page, /^machines:/);

  await context.setOffline(true);
  await page.goto("/bench");
  await expect(question(page)).toHaveText("What is to be done now?");
  await expect(page.getByText("working from what is saved here")).toBeVisible();
  await look(page, "bench-offline");
  await page.goto(card);
  await expect(page.getByText("Dwell").first()).toBeVisible();
  await expect(page.getByText("working from what is saved here")).toBeVisible();
  await look(page, "card-offline");
  await page.goto("/bench/waiting");
  await expect(question(page)).toHaveText("What is not yet sent?");
  await page.goto("/recipes");
  await expect(page.getByText("This screen is not on this tablet yet.")).toBeVisible();
  await context.setOffline(false);
});

test("an effective instant passes with the network down", async ({ browser }) => {
  const approver = await (await browser.newContext()).newPage();
  await signIn(approver, "approver@evenpeel.example", "second-look-1");
  const minute = 60_000;
  const effective = (Math.floor(Date.now() / minute) + 30) * minute;
  await approver.goto(`/releases/new?with=${encodeURIComponent("recipes/glimmer-cotton/revisions/1")}`);
  await approver.getByRole("checkbox", { name: "UK", exact: true }).check();
  await approver.getByText("From a later time").click();
  const local = await approver.evaluate((at) => {
    const there = new Date(at - new Date(at).getTimezoneOffset() * 60_000);
    return there.toISOString().slice(0, 16);
  }, effective);
  await approver.getByLabel("Date and time where you are").fill(local);
  await approver.getByRole("button", { name: "Release", exact: true }).click();
  await expect(question(approver)).toHaveText(/What does release \d+ put in force\?/);
  const release = new URL(approver.url()).pathname.split("/").at(-1);
  await approver.context().close();

  const context = await browser.newContext();
  const bench = await context.newPage();
  await signIn(bench, "operator.uk@evenpeel.example", "warm-platen-2");
  await bench.goto(card);
  await expect(bench.getByText(/signature checked/)).toBeVisible();
  await kept(bench);
  await answerKept(bench, new RegExp(`^cards:.*:at:${effective}$`));
  await context.setOffline(true);
  await bench.clock.setSystemTime(effective + minute);
  await bench.goto(card);
  await expect(bench.getByText(/New since/)).toBeVisible();
  await expect(bench.getByText(new RegExp(`release ${release}, signature checked`))).toBeVisible();
  await look(bench, "card-turned-offline");
  await context.close();
});
