// Holds the page to its budgets (design.md section 8). Sizes are gzip level 9, counted through static imports:
// a route costs what it loads that the shell has not loaded already. Run after `npm run build`.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const kB = 1000;
const budget = { first: 170 * kB, route: 80 * kB, css: 15 * kB, worker: 4 * kB };
const bench = /src\/rooms\/bench\/Bench\.tsx$/; // what a tablet shows first; the other bench screens load when opened

const manifest = JSON.parse(readFileSync("dist/assets/manifest.json", "utf8"));
const sizes = new Map();
function size(file) {
  if (!sizes.has(file)) sizes.set(file, gzipSync(readFileSync(join("dist", file)), { level: 9 }).length);
  return sizes.get(file);
}

function reach(key, seen = new Set()) {
  if (seen.has(key)) return seen;
  seen.add(key);
  for (const next of manifest[key].imports ?? []) reach(next, seen);
  return seen;
}
const scriptBytes = (keys) => [...keys].reduce((sum, key) => sum + size(manifest[key].file), 0);
const cssBytes = (keys) => {
  const sheets = new Set([...keys].flatMap((key) => manifest[key].css ?? []));
  return [...sheets].reduce((sum, sheet) => sum + size(sheet), 0);
};

const entry = Object.keys(manifest).find((key) => manifest[key].isEntry);
const routes = Object.keys(manifest).filter((key) => manifest[key].isDynamicEntry);
const shell = reach(entry);

let over = 0;
function line(what, bytes, limit) {
  const mark = bytes > limit ? "OVER" : "ok";
  if (bytes > limit) over += 1;
  console.log(`${mark.padEnd(5)} ${(bytes / kB).toFixed(1).padStart(7)} of ${limit / kB} kB  ${what}`);
}

const first = new Set(shell);
for (const key of routes.filter((route) => bench.test(route))) reach(key, first);
line("script: shell and bench, first load", scriptBytes(first), budget.first);
line("css: shell and bench, first load", cssBytes(first), budget.css);
for (const key of routes.filter((route) => !bench.test(route))) {
  const own = new Set([...reach(key)].filter((part) => !shell.has(part)));
  line(`script: ${key}`, scriptBytes(own), budget.route);
  line(`css: ${key}`, cssBytes(new Set([...own, ...shell])), budget.css);
}
line("script: service worker", size("sw.js"), budget.worker);
process.exit(over > 0 ? 1 : 0);
