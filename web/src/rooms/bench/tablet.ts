// What this tablet keeps for itself: the last answers, so that a card can be read without a network, and the outbox.
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { HeldSheet } from "./heldSheet.ts";
import type { Entry } from "./outbox.ts";

export type SavedAnswer = { key: string; bytes: Uint8Array; asOf: number };
export type SavedSheet = { branch: string; sheet: HeldSheet };

interface Tablet extends DBSchema {
  answers: { key: string; value: SavedAnswer };
  outbox: { key: string; value: Entry };
  sheets: { key: string; value: SavedSheet };
}

let opened: Promise<IDBPDatabase<Tablet>> | undefined;

/** tablet opens the database once. Fails where the browser refuses storage. */
export function tablet(): Promise<IDBPDatabase<Tablet>> {
  opened ??= openDB<Tablet>("evenpeel-bench", 2, {
    upgrade(database, before) {
      if (before < 1) {
        database.createObjectStore("answers", { keyPath: "key" });
        database.createObjectStore("outbox", { keyPath: "id" });
      }
      if (before < 2) database.createObjectStore("sheets", { keyPath: "branch" });
    },
    blocking(_before, _after, event) {
      // A newer page in another tab must not wait for this one.
      (event.target as IDBDatabase).close();
      opened = undefined;
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
