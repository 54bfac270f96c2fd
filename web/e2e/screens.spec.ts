// Every screen of every room, on the service with its demo data, as somebody who may see it: looked at at every width
// and in both schemes. One test a person, so that each signs in once.
import { expect, type Page, test } from "@playwright/test";
import { look, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 150_000 });

/** open goes to an address and waits until the screen has its question and nothing more to load. */
async function open(page: Page, address: string): Promise<void> {
  await page.goto(address);
  await settled(page);
}

async function settled(page: Page): Promise<void> {
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await expect(page.locator("[aria-busy=true]")).toHaveCount(0);
  await expect(page.getByText("could not be loaded")).toHaveCount(0);
}

/** follow opens the first link whose address begins so and that holds something after it. */
async function follow(page: Page, begins: string): Promise<string> {
  const address = await page.locator(`main a[href^="${begins}"]`).first().getAttribute("href");
  expect(address, `a link to ${begins}…`).not.toBeNull();
  await open(page, address ?? "");
  return address ?? "";
}

async function lookAt(page: Page, screens: Record<string, string>): Promise<void> {
  for (const [name, address] of Object.entries(screens))
    await test.step(name, async () => {
      await open(page, address);
      await look(page, name);
    });
}

test("an office editor's screens", async ({ page }) => {
  await signIn(page, "editor@evenpeel.example", "quiet-paper-1");
  await lookAt(page, {
    start: "/",
    recipes: "/recipes",
    "new-recipe": "/recipes?new=recipes",
    "second-looks": "/second-looks",
    papers: "/papers",
    prices: "/prices",
  });
  await follow(page, "/prices/");
  await look(page, "price-list");
  await open(page, "/recipes");
  const recipe = await follow(page, "/recipes/");
  await look(page, "recipe");
  await lookAt(page, { "recipe-revision": `${recipe}/revisions/1` });
});
