// One screen at every width and in every scheme: no accessibility violation, nothing wider than the screen, a picture
// of each in ../shots for the eye, since axe does not see what is ugly or missing.
import { AxeBuilder } from "@axe-core/playwright";
import { expect, type Page } from "@playwright/test";

export const widths = [360, 820, 1440] as const;
export const schemes = ["light", "dark"] as const;
const heights: Record<(typeof widths)[number], number> = { 360: 780, 820: 1180, 1440: 900 };

/** look checks the screen that the page shows now. `name` names the pictures. */
export async function look(page: Page, name: string): Promise<void> {
  for (const scheme of schemes) {
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    for (const width of widths) {
      await page.setViewportSize({ width, height: heights[width] });
      const where = `${name} ${scheme} ${width}`;
      await page.screenshot({ path: `../shots/${name}-${scheme}-${width}.png`, fullPage: true });
      const found = await new AxeBuilder({ page })
        .withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"])
        .analyze();
      expect(
        found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`),
        where,
      ).toEqual([]);
      const over = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(over, `${where}: wider than the screen (WCAG 2.2, 1.4.10)`).toBeLessThanOrEqual(0);
    }
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
