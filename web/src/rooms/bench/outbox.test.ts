import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";
import type { Fault, FaultKind } from "../../kit/fault.ts";
import { uuid } from "../../kit/uuid.ts";
import { discard, drain, type Entry, entriesOf, isPermanent, saveEntries, waitAfter } from "./outbox.ts";

const branch = "branches/hall";
const fault = (kind: FaultKind): Fault => ({
  kind,
  room: "runs",
  reason: "RUN_INVALID",
  words: "Nothing was stored.",
  fields: [{ path: "runs[0].good_count", words: "is more than the pieces." }],
  facts: new Map(),
  reference: "7F3A",
});
const entry = (id: string, savedAt: number) => ({
  id,
  kind: "run" as const,
  branch,
  order: "",
  title: id,
  bytes: new Uint8Array([1, 2]),
  savedAt,
});

beforeEach(async () => {
  for (const { id } of await entriesOf(branch)) await discard(id);
});

describe("the outbox", () => {
  it("keeps an entry until the server confirmed it", async () => {
    await saveEntries([entry("a", 1)]);
    const during: string[] = [];
    await drain({
      branch,
      now: () => 100,
      send: async () => {
        during.push(...(await entriesOf(branch)).map(({ keeping }) => keeping));
      },
    });
    expect(during).toEqual(["sent"]);
    expect((await entriesOf(branch)).map(({ keeping }) => keeping)).toEqual(["confirmed"]);
  });

  it("waits longer after every try without a network, and stops at the first", async () => {
    await saveEntries([entry("a", 1), entry("b", 2)]);
    let calls = 0;
    const send = async () => {
      calls++;
      throw fault("UNREACHED");
    };
    await drain({ branch, now: () => 0, send });
    await drain({ branch, now: () => 0, send });
    expect(calls).toBe(2); // "a" waits; the second drain tries "b"
    const [a, b] = (await entriesOf(branch)) as [Entry, Entry];
    expect([a.keeping, a.tries, a.nextTry, a.refusal]).toEqual(["on this tablet", 1, waitAfter(1), null]);
    expect(b.tries).toBe(1);
    expect([waitAfter(1), waitAfter(2), waitAfter(20)]).toEqual([5_000, 10_000, 300_000]);
  });

  it("keeps what the server refuses, with its words, and goes on with the next", async () => {
    await saveEntries([entry("bad", 1), entry("good", 2)]);
    await drain({
      branch,
      now: () => 0,
      send: async ({ id }) => {
        if (id === "bad") throw fault("INVALID");
      },
    });
    const [bad, good] = (await entriesOf(branch)) as [Entry, Entry];
    expect(bad.refusal?.words).toBe("Nothing was stored.");
    expect(bad.refusal?.fields[0]?.path).toBe("runs[0].good_count");
    expect(good.keeping).toBe("confirmed");
    let again = 0;
    const send = async () => {
      again++;
    };
    await drain({ branch, now: () => 1e9, send });
    expect(again).toBe(0); // not by itself
    await drain({ branch, now: () => 1e9, send, asked: true });
    expect(again).toBe(1); // but when a person asks
  });

  it("does not let one entry that breaks the server hold back the rest", async () => {
    await saveEntries([entry("breaks", 1), entry("good", 2)]);
    await drain({
      branch,
      now: () => 0,
      send: async ({ id }) => {
        if (id === "breaks") throw fault("BROKEN");
      },
    });
    const [breaks, good] = (await entriesOf(branch)) as [Entry, Entry];
    expect([breaks.keeping, breaks.refusal, good.keeping]).toEqual(["on this tablet", null, "confirmed"]);
  });

  it("sends the same id once however many pages drain at once", async () => {
    await saveEntries([entry("a", 1)]);
    const sent: string[] = [];
    const send = async ({ id }: Entry) => void sent.push(id);
    await Promise.all([drain({ branch, now: () => 0, send }), drain({ branch, now: () => 0, send })]);
    expect(sent).toEqual(["a"]);
  });

  it("does not overwrite an entry that was corrected while the old one was on its way", async () => {
    await saveEntries([entry("a", 1)]);
    await drain({ branch, now: () => 0, send: () => saveEntries([entry("a", 2)]) });
    const [a] = await entriesOf(branch);
    expect([a?.savedAt, a?.keeping]).toEqual([2, "on this tablet"]);
  });

  it("shows a branch its own entries only", async () => {
    await saveEntries([{ ...entry("other", 1), branch: "branches/pier" }]);
    expect(await entriesOf(branch)).toEqual([]);
    await discard("other");
  });

  it("tells what passes from what never will", () => {
    const passing: FaultKind[] = ["UNREACHED", "UNAVAILABLE", "BROKEN", "NOT_SIGNED_IN"];
    const lasting: FaultKind[] = ["INVALID", "NOT_ALLOWED", "NOT_FOUND", "NOT_READY", "TOO_LARGE", "GONE"];
    expect(passing.map((kind) => isPermanent(fault(kind)))).toEqual(passing.map(() => false));
    expect(lasting.map((kind) => isPermanent(fault(kind)))).toEqual(lasting.map(() => true));
  });

  it("makes ids of version 4, variant 10 (RFC 9562, 5.4)", () => {
    const ids = Array.from({ length: 200 }, uuid);
    expect(new Set(ids).size).toBe(200);
    for (const id of ids)
      expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
});
