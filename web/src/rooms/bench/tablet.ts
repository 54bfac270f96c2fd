// What this tablet keeps for itself: the last answers, so that a card can be read without a network, and the outbox.
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Entry } from "./outbox.ts";

export type SavedAnswer = { key: string; bytes: Uint8Array; asOf: number };

interface Tablet extends DBSchema {
  answers: { key: string; value: SavedAnswer };
  outbox: { key: string; value: Entry };
}

let opened: Promise<IDBPDatabase<Tablet>> | undefined;

/** tablet opens the database once. Fails where the browser refuses storage. */
export function tablet(): Promise<IDBPDatabase<Tablet>> {
  opened ??= openDB<Tablet>("evenpeel-bench", 1, {
    upgrade(database) {
      database.createObjectStore("answers", { keyPath: "key" });
      database.createObjectStore("outbox", { keyPath: "id" });
    },
    terminated() {
      opened = undefined;
    },
  }).catch((error: unknown) => {
    opened = undefined; // the next try opens again
    throw error;
  });
  return opened;
}
