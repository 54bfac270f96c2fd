// Every screen of every room, on the service with its demo data, as somebody who may see it: looked at at every width
// and in both schemes. The screens that show what people do are looked at in the journeys.
import { expect, type Page, test } from "@playwright/test";
import { look, settled, signIn } from "./look.ts";

test.skip(!process.env.E2E_URL, "needs the service with its demo data");
test.describe.configure({ timeout: 300_000 });

const failures = /could not be (loaded|compared|looked into|worked out)/;

async function open(page: Page, address: string): Promise<void> {
  await page.goto(address);
  await settled(page);
  await expect(page.getByText(failures)).toHaveCount(0);
}

/** lookAt opens each address in turn; the names are those of the pictures. */
async function lookAt(page: Page, screens: Record<string, string>): Promise<void> {
  for (const [name, address] of Object.entries(screens))
    await test.step(name, async () => {
      await open(page, address);
      await look(page, name);
    });
}

/** linkTo gives the first address on the screen that begins so and goes on. */
async function linkTo(page: Page, from: string, begins: string): Promise<string> {
  await open(page, from);
  const address = await page.locator(`main a[href^="${begins}"]`).first().getAttribute("href");
  expect(address, `a link to ${begins}… on ${from}`).not.toBeNull();
  return address ?? "";
}

test("an office editor's recipes and second looks", async ({ page }) => {
  await signIn(page, "editor@evenpeel.example", "quiet-paper-1");
  const recipe = await linkTo(page, "/recipes", "/recipes/");
  await lookAt(page, {
    "start-office": "/",
    recipes: "/recipes",
    recipe,
    "recipe-revision": `${recipe}/revisions/1`,
    "new-recipe": "/recipes?new=recipes",
    "second-looks": "/second-looks",
  });
});

test("an office editor's prices and papers", async ({ page }) => {
  await signIn(page, "editor@evenpeel.example", "quiet-paper-1");
  await lookAt(page, {
    prices: "/prices",
    "price-list": await linkTo(page, "/prices", "/prices/"),
    papers: "/papers",
    "bench-without-branch": "/bench",
  });
});

test("an approver's releases", async ({ page }) => {
  await signIn(page, "approver2@evenpeel.example", "second-look-2");
  await lookAt(page, {
    releases: "/releases",
    release: "/releases/1",
    "release-passed": "/releases/5",
    "release-trial": "/releases/10",
    "release-cancelled": "/releases/11",
    "new-release": "/releases/new",
    "new-release-back": "/releases/new?back=9",
    "no-release": "/releases/9999",
  });
});

test("an approver's reach, past and people", async ({ page }) => {
  await signIn(page, "approver2@evenpeel.example", "second-look-2");
  await lookAt(page, {
    reach: "/reach",
    "reach-branch": "/reach?show=open&branch=old-customs-house",
    "past-nothing": "/past",
    past: "/past?branch=linden-square",
    acts: "/past/acts",
    people: "/people",
  });
});

test("a branch operator's bench", async ({ page }) => {
  await signIn(page, "operator.uk@evenpeel.example", "warm-platen-2");
  await lookAt(page, {
    "start-bench": "/",
    bench: "/bench",
    cards: "/bench/cards",
    "card-uk": await linkTo(page, "/bench/cards", "/bench/cards/"),
    "new-plan": "/bench/plans/new",
    "waiting-nothing": "/bench/waiting",
  });
});

test("a branch manager's stock and machines", async ({ page }) => {
  await signIn(page, "manager.uk@evenpeel.example", "tidy-bench-2");
  await lookAt(page, {
    stock: "/stock",
    "stock-take-in": "/stock?take=in",
    machines: "/machines",
    "reach-of-a-branch": "/reach",
    "past-of-a-branch": "/past",
    "fair-view-of-a-branch": "/compare",
    "film-use-of-a-branch": "/compare/film",
  });
});

test("one roll of a branch, and all that may be done with it", async ({ page }) => {
  await signIn(page, "manager.uk@evenpeel.example", "tidy-bench-2");
  const roll = await linkTo(page, "/stock", "/stock?roll=");
  await lookAt(page, { roll });
  for (const act of ["count", "remnant", "waste", "diameters"]) {
    await page.goto(`${roll}&do=${act}`);
    await look(page, `roll-${act}`);
  }
});

test("the franchise manager's comparison", async ({ page }) => {
  await signIn(page, "franchise@evenpeel.example", "fair-view-24");
  await lookAt(page, {
    "start-franchise": "/",
    "fair-view": "/compare",
    "fair-view-yield": "/compare?metric=yield",
    branch: "/compare/branches/tanner-row",
    "branch-sums": "/compare/branches/tanner-row?chart=cusum",
    "branch-yield": "/compare/branches/tanner-row?chart=yield",
    pack: "/compare/branches/tanner-row/pack",
  });
});

test("the franchise manager's films, causes, changes and costs", async ({ page }) => {
  await signIn(page, "franchise@evenpeel.example", "fair-view-24");
  await lookAt(page, {
    charts: "/compare/charts",
    "film-use": "/compare/film",
    film: "/compare/film/glimmer",
    causes: "/compare/causes",
    changes: "/compare/changes",
    costs: "/compare/costs",
    trial: "/compare/trials/10",
    methods: "/compare/methods",
    "nothing-in-these-days": "/compare/costs?from=2020-01-01&to=2020-01-02",
  });
});

test("what is open to everyone, and what an auditor sees", async ({ page }) => {
  await lookAt(page, { health: "/health" });
  await signIn(page, "auditor@evenpeel.example", "read-only-99");
  await lookAt(page, { "people-auditor": "/people", "recipes-auditor": "/recipes" });
});
