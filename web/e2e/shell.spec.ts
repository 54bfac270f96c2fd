// What needs no service: run alone on the built page, or on a running service with E2E_URL.
import { expect, test } from "@playwright/test";
import { look } from "./look.ts";

// The policy that the gateway sends; kept here so that the page is tried under it even when served alone.
const policy =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
  "font-src 'self'; manifest-src 'self'; worker-src 'self'";

test.beforeEach(async ({ page }) => {
  await page.route("/", async (route) => {
    const response = await route.fetch();
    await route.fulfill({ response, headers: { ...response.headers(), "content-security-policy": policy } });
  });
  // Nobody is signed in: grpc-web carries its status in a header when there is no body.
  await page.route("**/evenpeel.access.v1.AccessService/WhoAmI", (route) =>
    route.fulfill({
      status: 200,
      headers: { "content-type": "application/grpc-web+proto", "grpc-status": "16" },
    }),
  );
});

test("somebody who is not signed in is asked who they are, at the address they came for", async ({
  page,
}) => {
  const broken: string[] = [];
  page.on("pageerror", (error) => broken.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") broken.push(message.text());
  });
  await page.goto("/");
  await expect(page.getByRole("heading", { level: 1, name: "Who is here?" })).toBeVisible();
  await page.getByRole("button", { name: "Sign in" }).click();
  await expect(page.getByRole("alert")).toBeFocused();
  await page.getByRole("link", { name: "Write your password." }).click();
  await expect(page.getByLabel("Password")).toBeFocused();
  expect(broken, "nothing breaks under the content security policy").toEqual([]);
  await look(page, "sign-in");
});

test("settings change what is read at once, and are kept", async ({ page }) => {
  await page.goto("/settings");
  await page.getByText("°F", { exact: true }).click();
  await expect(page.getByText("302")).toBeVisible();
  await page.reload();
  await expect(page.getByText("302")).toBeVisible();
  await page.getByText("Bright light").click();
  await expect(page.locator("html")).toHaveAttribute("data-scheme", "bright");
  await page.getByText("As this device").click();
  await look(page, "settings");
});

test("find goes to a screen by its name", async ({ page }) => {
  await page.goto("/nowhere");
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("There is nothing at this address");
  await page.keyboard.press("Control+k");
  await page.getByLabel("Name or question").fill("light");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1 })).toHaveText(
    "How should numbers, light and sound be here?",
  );
});

test("an address with nothing behind it says so", async ({ page }) => {
  await page.goto("/nowhere");
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await look(page, "nothing-here");
});

test("the first person's form lists all that is missing", async ({ page }) => {
  await page.goto("/first-person");
  await page.getByRole("button", { name: "Make the first person" }).click();
  await expect(page.getByRole("alert").getByRole("link")).toHaveCount(4);
  await look(page, "first-person");
});
