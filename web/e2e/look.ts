// One screen at every width and in every scheme: no accessibility violation, nothing wider than the screen, a picture
// of each in ../shots for the eye, since axe does not see what is ugly or missing.
import { AxeBuilder } from "@axe-core/playwright";
import { expect, type Page } from "@playwright/test";

export const widths = [360, 820, 1440] as const;
export const schemes = ["light", "dark"] as const;
const heights: Record<(typeof widths)[number], number> = { 360: 780, 820: 1180, 1440: 900 };

const standards = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const ofColour = ["color-contrast", "link-in-text-block"]; // a scheme changes colours and nothing else

/** settled waits until the screen has its question and nothing more to load. */
export async function settled(page: Page): Promise<void> {
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await expect(page.locator("[aria-busy=true]")).toHaveCount(0);
}

/** look checks the screen that the page shows now. `name` names the pictures. */
export async function look(page: Page, name: string): Promise<void> {
  await settled(page);
  for (const width of widths) {
    await page.setViewportSize({ width, height: heights[width] });
    for (const scheme of schemes) {
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      const where = `${name} ${scheme} ${width}`;
      // There are no frames within a screen, so the slow way that joins the findings of frames is not needed.
      const violations = async () => {
        const axe = new AxeBuilder({ page }).setLegacyMode(true);
        const found = await (scheme === "light"
          ? axe.withTags(standards)
          : axe.withRules(ofColour)
        ).analyze();
        return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`);
      };
      // A picture draws itself anew after the width changes; on a busy machine axe can meet it half-way, with texts
      // where they are not going to stay. What is still wrong once it has come to rest is wrong.
      await expect.poll(violations, { message: where, intervals: [1000], timeout: 15_000 }).toEqual([]);
      // In the dark one width is enough for the eye.
      if (scheme === "light" || width === 820)
        await page.screenshot({ path: `../shots/${name}-${scheme}-${width}.png`, fullPage: true });
    }
    const over = await page.evaluate(
      () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
    );
    expect(over, `${name} ${width}: wider than the screen (WCAG 2.2, 1.4.10)`).toBeLessThanOrEqual(0);
  }
}

/** signIn signs in through the form; needs a running service (E2E_URL). */
export async function signIn(page: Page, email: string, password: string): Promise<void> {
  await page.goto("/sign-in");
  await page.getByLabel("E-mail address").fill(email);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await expect(page.getByRole("button", { name: "Not signed in" })).toHaveCount(0);
}
