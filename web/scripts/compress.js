// Writes a .gz beside each text file of dist: http.FileServer does not compress, and the gateway serves the .gz as it is.
import { readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { extname, join } from "node:path";
import { gzipSync } from "node:zlib";

const text = new Set([".js", ".css", ".html", ".svg", ".json", ".webmanifest", ".txt"]);
const smallestWorthIt = 1024; // bytes; below this the header costs more than it saves

function* filesUnder(folder) {
  for (const name of readdirSync(folder)) {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) yield* filesUnder(path);
    else yield path;
  }
}

let count = 0;
for (const path of filesUnder("dist")) {
  if (!text.has(extname(path))) continue;
  const plain = readFileSync(path);
  if (plain.length < smallestWorthIt) continue;
  const packed = gzipSync(plain, { level: 9 });
  if (packed.length >= plain.length) continue;
  writeFileSync(`${path}.gz`, packed);
  count += 1;
}
console.log(`compressed ${count} files`);
