// Text difference: which words were taken out of a text and which came in, by the longest common subsequence.

export type Piece = { text: string; kind: "same" | "added" | "removed" };

const mostCells = 4_000_000; // of the table below; longer texts are shown as replaced

/** textDiff gives the pieces of both texts in reading order; joined without "removed" they are `after` again. */
export function textDiff(before: string, after: string): Piece[] {
  const [from, to] = [words(before), words(after)];
  if ((from.length + 1) * (to.length + 1) > mostCells)
    return merged([
      { text: before, kind: "removed" },
      { text: after, kind: "added" },
    ]);
  // longest[a][b] weighs the longest common subsequence of from[a…] and to[b…]: no number of spaces is worth a word.
  const width = to.length + 1;
  const longest = new Uint32Array((from.length + 1) * width);
  const at = (a: number, b: number) => longest[a * width + b] ?? 0;
  for (let a = from.length - 1; a >= 0; a--)
    for (let b = to.length - 1; b >= 0; b--)
      longest[a * width + b] =
        from[a] === to[b] ? at(a + 1, b + 1) + weight(to[b]) : Math.max(at(a + 1, b), at(a, b + 1));
  const pieces: Piece[] = [];
  let [a, b] = [0, 0];
  while (a < from.length || b < to.length) {
    const [old = "", next = ""] = [from[a], to[b]];
    if (a < from.length && b < to.length && old === next) {
      pieces.push({ text: next, kind: "same" });
      a += 1;
      b += 1;
    } else if (b >= to.length || (a < from.length && at(a + 1, b) >= at(a, b + 1))) {
      pieces.push({ text: old, kind: "removed" });
      a += 1;
    } else {
      pieces.push({ text: next, kind: "added" });
      b += 1;
    }
  }
  return merged(pieces);
}

const weight = (word = "") => (word.trim() === "" ? 1 : 10_000);

/** words cuts a text into words, spaces and signs; joined they are the text again. */
const words = (text: string): string[] => text.match(/[\p{L}\p{N}]+|\s+|[^\p{L}\p{N}\s]/gu) ?? [];

function merged(pieces: readonly Piece[]): Piece[] {
  const out: Piece[] = [];
  for (const piece of pieces) {
    if (piece.text === "") continue;
    const last = out.at(-1);
    if (last?.kind === piece.kind) last.text += piece.text;
    else out.push({ ...piece });
  }
  return out;
}
