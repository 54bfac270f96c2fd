// The walls of the page: proto, units, styles < kit < rooms/* < app. Each room's own door is its room.ts.
import { readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { describe, expect, it } from "vitest";

type Door = { holds: string; mayTouch: string[]; never: string };
const doors = import.meta.glob<Door>("./rooms/*/room.ts", { eager: true });
const roomNames = readdirSync("src/rooms").filter((name) => statSync(join("src/rooms", name)).isDirectory());

// What a room may ask of the app: pure doors that import no room and no shell.
const appDoors = ["app/paths", "app/route", "app/fault", "app/session", "app/roles"];
// Packages any room may use; others (d3-scale, idb …) stand on its sign.
const usual = [
  "react",
  "wouter",
  "@tanstack/react-query",
  "@connectrpc/connect-query",
  "@connectrpc/connect",
  "@bufbuild/protobuf",
];
const testOnly = ["vitest", "@testing-library/react", "fake-indexeddb"];

function sources(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return path === "src/proto" ? [] : sources(path);
    return /\.tsx?$/.test(entry.name) ? [path] : [];
  });
}

type Import = { file: string; to: string };

/** importsOf lists imports as paths under src ("kit/Button.tsx") or package names. */
function importsOf(file: string): Import[] {
  const text = readFileSync(file, "utf8");
  const found = text.matchAll(/(?:\bfrom\s+|\bimport\s*\(?\s*)["']([^"']+)["']/g);
  return [...found].map(([, to = ""]) => ({
    file: file.slice("src/".length),
    to: to.startsWith(".") ? normalize(join(dirname(file), to)).slice("src/".length) : to,
  }));
}

const all = sources("src").flatMap(importsOf);
const within = (path: string, allowed: string) =>
  path === allowed ||
  path.startsWith(`${allowed}/`) ||
  path.startsWith(`${allowed}.`) ||
  path.startsWith(`${allowed}_`);
const layerOf = (path: string) => path.split("/")[0] ?? "";
const isInside = (path: string) =>
  ["app", "kit", "rooms", "units", "styles", "proto"].includes(layerOf(path));
const show = ({ file, to }: Import) => `${file} imports ${to}`;

describe("the direction", () => {
  const mayTouch: Record<string, string[]> = {
    units: ["units"],
    styles: ["styles"],
    kit: ["kit", "units", "styles"],
  };
  it.each(Object.keys(mayTouch))("%s imports nothing above it", (layer) => {
    const bad = all.filter(
      ({ file, to }) => layerOf(file) === layer && isInside(to) && !mayTouch[layer]?.includes(layerOf(to)),
    );
    expect(bad.map(show)).toEqual([]);
  });
  it("the doors of the app import no room and no screen", () => {
    const bad = all.filter(
      ({ file, to }) =>
        !file.includes(".test.") &&
        appDoors.some((door) => within(file, door)) &&
        (layerOf(to) === "rooms" || (layerOf(to) === "app" && !appDoors.some((door) => within(to, door)))),
    );
    expect(bad.map(show)).toEqual([]);
  });
  it("sees the imports at all", () => {
    expect(all.length).toBeGreaterThan(100);
  });
});

describe.each(roomNames)("room %s", (room) => {
  const door = doors[`./rooms/${room}/room.ts`];
  it("has a sign on its door", () => {
    expect(door, `src/rooms/${room}/room.ts must export holds, mayTouch and never`).toBeDefined();
    expect([door?.holds, door?.never].every((words) => words && words.length > 0)).toBe(true);
  });
  it("touches only what its sign says", () => {
    const own = `rooms/${room}`;
    const allowed = [own, ...(door?.mayTouch ?? [])];
    const bad = all.filter(({ file, to }) => {
      if (!file.startsWith(`${own}/`)) return false;
      const test = /\.test\.tsx?$/.test(file);
      if (!isInside(to)) {
        if (to.startsWith("node:")) return !test;
        return ![...usual, ...(test ? testOnly : []), ...allowed].some((name) => within(to, name));
      }
      return !allowed.some((path) => within(to, path));
    });
    expect(bad.map(show)).toEqual([]);
  });
  it("never lists another room or the inside of the app", () => {
    const bad = (door?.mayTouch ?? []).filter(
      (path) => layerOf(path) === "rooms" || (layerOf(path) === "app" && !appDoors.includes(path)),
    );
    expect(bad).toEqual([]);
  });
});
