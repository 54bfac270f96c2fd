// What a franchise manager takes to a visit: a picture held at an instant, what goes together with reprints, and the
// pack on paper.
import { expect, test } from "@playwright/test";
import { look, settled, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 180_000 });
test.use({ actionTimeout: 20_000 });

test("a picture is held, causes point at a branch, and its pack prints", async ({ page }) => {
  await signIn(page, "franchise@evenpeel.example", "fair-view-24");
  await page.goto("/compare");
  const finding = page.getByRole("figure").first().locator("figcaption");
  await expect(finding).toContainText("Tanner Row");
  const before = (await finding.textContent()) ?? "";
  await page.getByRole("button", { name: "Hold this picture" }).press("Enter");
  await expect(page).toHaveURL(/as-of=/);
  await page.reload();
  await expect(finding).toHaveText(before);
  await expect(page.getByRole("button", { name: "Show what is known now" })).toBeVisible();
  await look(page, "fair-view-held");

  await page.goto("/compare/causes");
  const found = page.getByRole("table", { name: "What was looked at, findings first" });
  await expect(found.getByRole("row", { name: /^Tanner Row branch Edge lifts/ })).toContainText("yes");
  await expect(found.getByRole("row")).toHaveCount(21);
  await page.getByRole("button", { name: /^Show all/ }).press("Enter");
  expect(await found.getByRole("row").count()).toBeGreaterThan(21);

  await page.goto("/compare/branches/tanner-row");
  await page.getByRole("link", { name: "Pack for a visit" }).press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "Visit at Tanner Row" })).toBeVisible();
  await settled(page);
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  await expect(page.getByRole("navigation", { name: "Screens" })).toBeHidden();
  await expect(page.getByRole("button", { name: "Print, or save as PDF" })).toBeHidden();
  await expect(page.getByRole("list", { name: "Lines to write on" })).toBeVisible();
  const ground = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  expect(ground, "paper is white, whatever the screen was").toMatch(/^rgba?\((255, 255, 255|0, 0, 0, 0)/);
  await page.screenshot({ path: "../shots/pack-on-paper.png", fullPage: true });
});
