// SPDX-License-Identifier: MIT
// Where entries wait on this device until they are in the record: a database of the browser. All
// pages open here share it, so whatever depends on what is there happens within one transaction.
// @ts-check

/**
 * An entry as it was typed.
 * @typedef {object} Waiting
 * @property {number} [number] order in which it was typed; given by the database
 * @property {string} key the same entry sent twice is kept once
 * @property {string} action where it is sent
 * @property {string} page where it was typed
 * @property {[string, string][]} fields
 * @property {string} entered when it was typed, by the clock of this device
 * @property {string} words what it says, for the person
 * @property {string} refused why the record would not take it; "" while it waits
 * @property {number} [failed] how often middlecut itself failed on it
 * @property {string} [trouble] what was said the last time it did
 * @property {{by: string, until: number}} [claim] the page that is sending it, and how long
 */

const NAME = "middlecut-outbox";
const SHELF = "entries";

/** @type {IDBDatabase | null} */
let database = null;

/** Open the database; false where the browser has none for us. */
export function openStore() {
  return new Promise((/** @type {(there: boolean) => void} */ resolve) => {
    if (!("indexedDB" in window)) { resolve(false); return; }
    try {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore(SHELF, { keyPath: "number", autoIncrement: true });
      };
      asked.onsuccess = () => { database = asked.result; resolve(true); };
      asked.onerror = () => resolve(false);
      asked.onblocked = () => resolve(false);
    } catch {
      resolve(false);
    }
  });
}

/**
 * Keep a new entry; resolves when it is on disk.
 * @param {Waiting} entry
 * @returns {Promise<number>} its number
 */
export async function keepEntry(entry) {
  return Number(await act("readwrite", (shelf) => shelf.put(entry)));
}

/**
 * Change an entry if it is still there: another page may have sent it, or the person discarded it.
 * @param {number} number
 * @param {(entry: Waiting) => Waiting | null} change null leaves it as it is
 * @returns {Promise<Waiting | null>} the entry as it was, null if it is gone
 */
export async function changeEntry(number, change) {
  return await act("readwrite", (shelf) => {
    const asked = shelf.get(number);
    asked.onsuccess = () => {
      const changed = asked.result ? change(asked.result) : null;
      if (changed) shelf.put(changed);
    };
    return asked;
  }) ?? null;
}

/** @param {number} number */
export async function dropEntry(number) {
  await act("readwrite", (shelf) => shelf.delete(number));
}

/** @returns {Promise<Waiting[]>} in the order in which they were typed */
export async function readEntries() {
  return database ? act("readonly", (shelf) => shelf.getAll()) : [];
}

/**
 * @param {IDBTransactionMode} mode
 * @param {(shelf: IDBObjectStore) => IDBRequest} what
 * @returns {Promise<any>}
 */
function act(mode, what) {
  return new Promise((resolve, reject) => {
    if (!database) { reject(new Error("no database")); return; }
    const transaction = database.transaction(SHELF, mode, { durability: "strict" });
    const asked = what(transaction.objectStore(SHELF));
    transaction.oncomplete = () => resolve(asked.result);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
  });
}
