// The shelf: a roll is counted, a remnant is cut off and put away, and every movement stays on the account.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 180_000 });
test.use({ actionTimeout: 20_000 });

const movement = (page: Page, words: string | RegExp) =>
  page.getByRole("table", { name: /Everything that happened to it/ }).getByRole("row", { name: words });

test("a roll is counted and a remnant cut off, with the keyboard alone, and both are on its account", async ({
  page,
}) => {
  await signIn(page, "manager.eu@evenpeel.example", "tidy-bench-1");
  await page.goto("/stock");
  await page
    .getByRole("region", { name: "Paddle" })
    .getByRole("link", { name: /white/ })
    .first()
    .press("Enter");
  await expect(page.getByRole("heading", { name: /^Paddle, white: .* left$/ })).toBeVisible();

  await page.getByRole("button", { name: "Count it" }).press("Enter");
  const measured = page.getByLabel("Length measured");
  await page.getByRole("button", { name: "Store the count" }).press("Enter");
  await expect(page.getByRole("alert")).toContainText("Say how much was measured.");
  await measured.fill("12.5");
  await measured.press("Enter");
  await expect(page.getByText(/^Counted: .* against the account\.$/)).toBeVisible();
  await expect(page.getByRole("heading", { name: "Paddle, white: 12.50 m left" })).toBeVisible();
  await expect(movement(page, /Counted/).first()).toContainText("12.50 m");

  await page.getByRole("button", { name: "Cut a remnant off" }).press("Enter");
  await page.getByLabel("Length cut off").fill("0.75");
  await page.getByLabel("Place").fill("remnant box 2");
  await page.getByRole("button", { name: "Put it away" }).press("Enter");
  await expect(page.getByRole("heading", { name: "Paddle, white: 11.75 m left" })).toBeVisible();
  await expect(movement(page, /Remnant cut/).first()).toContainText("11.75 m");
  await look(page, "roll-moved");
  await page
    .getByRole("region", { name: "Paddle" })
    .getByRole("link", { name: /0\.75 m.*remnant box 2/ })
    .click();
  await expect(page.getByText("Cut from")).toBeVisible();
});
