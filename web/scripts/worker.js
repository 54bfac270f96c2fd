// Builds dist/sw.js, the service worker, with the list of files that open the shell and the bench without a network.
// Run after `vite build`, before the files are compressed.
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { build } from "vite";

const outDir = "dist";
const manifest = JSON.parse(readFileSync(join(outDir, "assets/manifest.json"), "utf8"));
/** What a tablet may open with the network away: the start, every screen of the bench, settings. */
const offline = /^src\/(app|rooms\/(bench|settings))\//;

const reached = new Set();
function reach(key) {
  if (reached.has(key)) return;
  reached.add(key);
  for (const next of manifest[key].imports ?? []) reach(next);
}
for (const [key, part] of Object.entries(manifest))
  if (part.isEntry || (part.isDynamicEntry && offline.test(key))) reach(key);

const files = new Set(["/", "/layers.css", "/sign.svg", "/page.webmanifest"]);
for (const key of reached) {
  const { file, css = [], assets = [] } = manifest[key];
  for (const name of [file, ...css, ...assets]) files.add(`/${name}`);
}
// Fonts are named in style sheets only.
for (const name of readdirSync(join(outDir, "assets")))
  if (name.endsWith(".woff2")) files.add(`/assets/${name}`);

const list = [...files].sort();
const hash = createHash("sha256");
for (const path of list)
  hash.update(path).update(readFileSync(join(outDir, path === "/" ? "index.html" : path)));
hash.update(readFileSync("src/worker/sw.ts")).update(readFileSync("src/worker/shell.ts"));

await build({
  configFile: false,
  publicDir: false,
  logLevel: "warn",
  define: {
    SHELL_FILES: JSON.stringify(list),
    BUILD: JSON.stringify(hash.digest("hex").slice(0, 16)),
  },
  build: {
    outDir,
    emptyOutDir: false,
    target: ["chrome123", "edge123", "firefox120", "safari17.5"],
    rolldownOptions: {
      input: { sw: "src/worker/sw.ts" },
      output: { entryFileNames: "[name].js", format: "iife" },
    },
  },
});
console.log(`sw.js keeps ${list.length} files`);
