import { describe, expect, it } from "vitest";
import { answerFor, cacheOf, outlived } from "./shell.ts";

const home = "https://evenpeel.example";
const asked = (path: string, mode = "cors", method = "GET") =>
  answerFor({ method, mode, url: path.startsWith("http") ? path : home + path }, home);

describe("the worker", () => {
  it.each(["/evenpeel.recipes.v1.CatalogService/PullSheet", "/readyz", "/metrics", "/sw.js"])(
    "leaves %s to the network",
    (path) => {
      expect([asked(path), asked(path, "cors", "POST"), asked(path, "navigate")]).toEqual(
        Array(3).fill("network"),
      );
    },
  );
  it("gives the page for every screen and kept files for what the page loads", () => {
    expect(asked("/bench/cards/glimmer-cotton?cutter=a.b", "navigate")).toBe("page");
    expect(asked("/", "navigate")).toBe("page");
    expect(asked("/assets/main-ab12.js")).toBe("kept");
    expect(asked("/layers.css", "no-cors")).toBe("kept");
  });
  it("touches no other origin and no change", () => {
    expect(asked("https://elsewhere.example/assets/a.js")).toBe("network");
    expect(asked("/bench", "navigate", "POST")).toBe("network");
  });
  it("keeps this build and the one before, and nobody else's cache", () => {
    const names = [cacheOf("a"), "other", cacheOf("b"), cacheOf("c")];
    expect(outlived(names, "c")).toEqual([cacheOf("a")]);
    expect(outlived([cacheOf("c")], "c")).toEqual([]);
  });
});
