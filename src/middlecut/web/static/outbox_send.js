// SPDX-License-Identifier: MIT
// Sends what waits in the outbox, one entry after another in the order of typing. Of all pages open
// on this device one sends an entry: it claims it first, in the database they share, for as long as
// a request may take. A page that is closed meanwhile leaves a claim that runs out; the entry is then
// sent again under the same key, which the record keeps once.
// @ts-check

import { isShutOut } from "./events.js";
import { changeEntry, dropEntry, readEntries } from "./outbox_store.js";

/**
 * What became of an entry that was sent.
 * @typedef {{kind: "taken", go: string, page: string, seen?: boolean}} Taken page is "" when there
 *   is one to go to; seen: the answer was lost, and the entry seen in the record
 * @typedef {{kind: "refused", reason: string, page: string}} Refused
 * @typedef {{kind: "waits", reason: string, fault: boolean, shut?: boolean}} Waits
 *   fault: middlecut failed on it; shut: this device is not let in (any more)
 * @typedef {{kind: "elsewhere"}} Elsewhere another page of this device has sent it
 * @typedef {Taken | Refused | Waits | Elsewhere} Outcome
 * @typedef {import("./outbox_store.js").Waiting} Waiting
 */

const PATIENCE = 15_000; // ms a request may take
const CLAIM = PATIENCE + 5_000; // ms another page leaves an entry to the one that is sending it
const AWAY = "The record cannot be reached.";
/** How often middlecut may fail on one entry before those behind it are sent first. */
export const FAULTS = 3;

/** What the server says when it does not know this device (now), or cannot answer yet. */
const NOT_THE_ENTRY = new Set([401, 403, 408, 421, 425, 429]);
/** What it says when it failed on this very entry; with other trouble nothing can be sent. */
const FAULT = 500;

const own = newKey();
/** @type {Promise<Map<number, Outcome>> | null} */
let sending = null;
let trouble = "";
let shut = false;
/** Keys seen in the record. @type {Set<string>} */
const recorded = new Set();

/** A key nobody else has; also where there is no secure context. */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Whether this page is sending now. */
export function isSending() {
  return sending !== null;
}

/** Why the first entry that waits was not taken the last time; "" when it is on its way. */
export function lastTrouble() {
  return trouble;
}

/** Whether this device was not let in the last time: there is no use in trying again by itself. */
export function isShut() {
  return shut;
}

/**
 * Take entries off the waiting list that were seen in the record, whatever became of the answer.
 * @param {(string | undefined)[]} keys
 * @returns {Promise<number>} how many were on it
 */
export async function dropRecorded(keys) {
  keys.forEach((key) => { if (key) recorded.add(key); });
  const found = (await readEntries()).filter((entry) => recorded.has(entry.key));
  for (const { number = 0 } of found) await dropEntry(number);
  return found.length;
}

/** Send what waits; stop where nothing can be sent. */
export function sendAll() {
  sending ??= sendEach().finally(() => { sending = null; });
  return sending;
}

/**
 * Send what waits up to an entry that was just kept.
 * @param {number} number
 * @param {{key: string, page: string}} known of that entry
 * @returns {Promise<Outcome>}
 */
export async function outcomeOf(number, known = { key: "", page: "" }) {
  const earlier = sending ? (await sending).get(number) : undefined;
  const outcome = earlier && earlier.kind !== "waits" ? earlier : (await sendAll()).get(number);
  if (outcome?.kind === "waits" && recorded.has(known.key)) {
    return { kind: "taken", go: known.page, page: "", seen: true }; // only the answer was lost
  }
  if (outcome) return outcome;
  const entry = (await readEntries()).find((one) => one.number === number);
  if (!entry) return { kind: "elsewhere" };
  if (entry.refused) return { kind: "refused", reason: entry.refused, page: "" };
  return { kind: "waits", reason: "", fault: false };
}

/** @returns {Promise<Map<number, Outcome>>} */
async function sendEach() {
  /** @type {Map<number, Outcome>} */ const outcomes = new Map();
  let first = "";
  shut = false;
  for (const { number = 0, refused } of await readEntries()) {
    if (refused) continue;
    const entry = await claim(number);
    if (entry === "gone") continue;
    if (entry === "held") break; // another page sends it now: those behind it wait their turn
    const outcome = await send(entry);
    shut = outcome.kind === "waits" && outcome.shut === true;
    outcomes.set(number, outcome);
    await note(number, outcome);
    if (outcome.kind !== "waits") {
      document.dispatchEvent(new CustomEvent("middlecut:reached"));
      continue;
    }
    first ||= outcome.reason;
    // One entry that middlecut cannot cope with must not hold up all others for ever.
    if (!outcome.fault || (entry.failed ?? 0) + 1 < FAULTS) break;
  }
  trouble = first;
  if (shut) {
    const detail = { up: false, shut };
    document.dispatchEvent(new CustomEvent("middlecut:line", { detail }));
  }
  return outcomes;
}

/**
 * Claim an entry for this page.
 * @param {number} number
 * @returns {Promise<Waiting | "gone" | "held">}
 */
async function claim(number) {
  const now = Date.now();
  let held = false;
  const entry = await changeEntry(number, (one) => {
    const { by = own, until = 0 } = one.claim ?? {};
    // A claim from a clock that was set back would bind for ever.
    held = by !== own && until > now && until <= now + CLAIM;
    return held || one.refused ? null : { ...one, claim: { by: own, until: now + CLAIM } };
  });
  if (!entry || entry.refused) return "gone";
  return held ? "held" : entry;
}

/**
 * Keep what became of an entry.
 * @param {number} number
 * @param {Taken | Refused | Waits} outcome
 */
async function note(number, outcome) {
  if (outcome.kind === "taken") { await dropEntry(number); return; }
  await changeEntry(number, ({ claim: _, ...entry }) => {
    if (outcome.kind === "refused") return { ...entry, refused: outcome.reason };
    if (!outcome.fault) return entry;
    return { ...entry, failed: (entry.failed ?? 0) + 1, trouble: outcome.reason };
  });
}

/**
 * @param {Waiting} entry
 * @returns {Promise<Taken | Refused | Waits>}
 */
async function send(entry) {
  const headers = {
    accept: "text/html", "x-outbox": "1", "x-entered": entry.entered,
    "x-sent": new Date().toISOString(),
  };
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), PATIENCE);
  try {
    const answer = await fetch(entry.action, {
      method: "POST", body: new URLSearchParams(entry.fields), headers, signal: stop.signal,
    });
    const text = await answer.text();
    if (answer.ok) return takenOf(answer, text, entry);
    const reason = reasonOf(text, answer.status);
    if (isShutOut(answer)) return { kind: "waits", reason, fault: false, shut: true };
    const waits = answer.status >= 500 || NOT_THE_ENTRY.has(answer.status);
    if (waits) return { kind: "waits", reason, fault: answer.status === FAULT };
    return { kind: "refused", reason, page: text };
  } catch {
    return { kind: "waits", reason: AWAY, fault: false };
  } finally {
    clearTimeout(clock);
  }
}

/**
 * @param {Response} answer
 * @param {string} text
 * @param {Waiting} entry
 * @returns {Taken}
 */
function takenOf(answer, text, entry) {
  const json = answer.headers.get("content-type")?.includes("json") ?? false;
  if (!json) return { kind: "taken", go: entry.page, page: text };
  return { kind: "taken", go: String(JSON.parse(text).go ?? entry.page), page: "" };
}

/**
 * Return in words what an answer says.
 * @param {string} text
 * @param {number} status
 */
function reasonOf(text, status) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const faults = [...page.querySelectorAll('main [role="alert"] li')];
  const told = page.querySelector('main [role="alert"] p:not(.severity)');
  const said = faults.length ? faults
    : [page.querySelector("main h1"), told ?? page.querySelector("main h1 ~ p")].flatMap((one) => one ?? []);
  const words = said.map((one) => (one.textContent ?? "").replace(/\s+/g, " ").trim());
  const sentences = words.filter(Boolean).map((one) => (/[.!?]$/.test(one) ? one : `${one}.`));
  return sentences.join(" ") || `The server answered ${status}.`;
}
