// The plan desk: a true drawing, a search for a tighter layout that a person may end, a design moved by hand to where
// it can not be cut and back, and the cut file of what was accepted.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 240_000 });
test.use({ actionTimeout: 20_000 });

const roll = (page: Page) => page.getByRole("application", { name: "Designs on the roll" });

test("a drawing is laid tighter, moved by hand, taken back, accepted and cut", async ({ page }) => {
  await signIn(page, "operator.uk@evenpeel.example", "warm-platen-2");
  await page.goto("/bench/plans/new");
  await page.locator("input[type=file]").setInputFiles("../recipes/cut/testdata/badge.svg");
  await expect(page.getByRole("button", { name: "Choose another file" })).toBeVisible();
  await page.getByLabel("Film and fabric").selectOption({ label: "Plainfold on cotton" });
  await page.getByLabel("Colour", { exact: true }).selectOption({ index: 1 });
  await page.getByLabel("How many", { exact: true }).fill("6");
  await page.getByLabel("Design width").fill("90");
  await expect(roll(page)).toBeVisible({ timeout: 30_000 });

  await page.getByRole("button", { name: "Search for a tighter layout" }).click();
  const stop = page.getByRole("button", { name: "Stop and keep this" });
  await expect(page.getByRole("progressbar", { name: "Share of the search done" })).toBeVisible();
  await stop.click();
  await expect(stop).toHaveCount(0);
  await look(page, "plan-desk");

  const wrong = page.getByText("Caution: A design can not be cut where it lies");
  await roll(page).focus();
  await page.keyboard.press("PageDown");
  await expect(page.getByText(/^Design 1 of 6/)).toBeVisible();
  await page.keyboard.press("PageDown");
  await expect(page.getByText(/^Design 2 of 6/)).toBeVisible();
  // Step by step over the beginning of the film, wherever it lay.
  const steps = 24;
  for (let step = 0; step < steps; step++) await page.keyboard.press("Shift+ArrowLeft");
  await expect(wrong).toBeVisible({ timeout: 30_000 });
  await expect(page.getByText(/It can not be cut here\./)).toBeVisible();
  await expect(page.getByRole("button", { name: "Accept" })).toBeDisabled();
  await look(page, "plan-desk-wrong");
  const undo = page.getByRole("button", { name: "Undo" });
  for (let step = 0; step < steps; step++) await undo.press("Enter");
  await expect(wrong).toHaveCount(0, { timeout: 30_000 });

  await page.getByRole("button", { name: "Accept" }).click();
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Is everything ready to start?");
  const download = page.waitForEvent("download");
  await page.getByRole("button", { name: "Save as SVG" }).click();
  expect((await download).suggestedFilename()).toMatch(/\.svg$/);
});
