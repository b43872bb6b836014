// SPDX-License-Identifier: MIT
// Nothing typed is lost: an entry is first kept on this device, then sent, and leaves the device
// when the record has it. Without a line it waits and is sent in order when the line is back.
//
// It works on forms of a batch that carry an entry_key; they are plain forms without this module.
// data-quick frees a form for the next entry when the answer takes long, data-direct keeps one out.
// The server answers a request with the header x-outbox with JSON {"go": address} instead of a
// redirect, and takes the time of the entry from x-entered (and our clock from x-sent).
// @ts-check

import { bringToForm, clear, goneOn, remember, sayOf, showAnswer } from "./outbox_form.js";
import { deviceWord, entriesOf, showOutbox } from "./outbox_bar.js";
import { dropEntry, keepEntry, openStore, readEntries } from "./outbox_store.js";

/**
 * What became of an entry that was sent.
 * @typedef {{kind: "taken", go: string, page: string}} Taken page is "" when there is one to go to
 * @typedef {{kind: "refused", reason: string, page: string}} Refused
 * @typedef {{kind: "waits", reason: string}} Waits
 * @typedef {Taken | Refused | Waits} Outcome
 * @typedef {import("./outbox_store.js").Waiting} Waiting
 */

const PATIENCE = 15_000; // ms a request may take
const SLOW = 400; // ms after which a form of the bench is free for the next entry
const AGAIN = [2_000, 4_000, 8_000, 15_000, 30_000]; // ms to the next try
// What the server says when it is itself in trouble, or does not know this device (now).
const NOT_THE_ENTRY = new Set([403, 408, 421, 429, 502, 503, 504, 507]);

/** @type {(words: string) => void} */
let announce = () => {};
/** @type {Promise<Map<number, Outcome>> | null} */
let sending = null;
/** @type {Promise<boolean>} */
let opening = Promise.resolve(false);
/** Entries that were submitted and are not settled. @type {Set<string>} */
const onTheWay = new Set();
let trouble = "";
let tries = 0;
let timer = 0;

/**
 * Start the outbox of this page.
 * @param {(words: string) => void} say tells a person who uses a screen reader
 */
export async function startOutbox(say) {
  announce = say;
  document.addEventListener("submit", onSubmit);
  document.addEventListener("click", onClick);
  opening = openStore();
  if (!await opening) return;
  await show();
  await bringToForm(await readEntries());
  const line = (/** @type {Event} */ event) => {
    if (event instanceof CustomEvent && event.detail.up) sendAgain();
  };
  document.addEventListener("middlecut:line", line);
  addEventListener("online", sendAgain);
  addEventListener("pageshow", () => { show(); });
  sendAgain();
}

/** A key nobody else has; also where there is no secure context. */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {SubmitEvent} event */
function onSubmit(event) {
  const form = event.target;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement) || !isOurs(form)) return;
  if ((event.submitter?.getAttribute("formmethod") ?? "post") !== "post") return; // it asks, only
  event.preventDefault();
  const entry = entryOf(form, event.submitter);
  const same = JSON.stringify([entry.action, entry.fields.filter(([name]) => name !== "entry_key")]);
  if (onTheWay.has(same)) return; // an impatient finger
  onTheWay.add(same);
  enter(form, entry).catch(() => sendPlainly(form, event.submitter)).finally(() => {
    onTheWay.delete(same);
  });
}

/** @param {HTMLFormElement} form */
function isOurs(form) {
  return form.method === "post" && form.enctype !== "multipart/form-data"
    && form.dataset.direct === undefined && form.querySelector('[name="entry_key"]') !== null
    && addressOf(form, null).startsWith("/batch/");
}

/**
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} button
 */
function addressOf(form, button) {
  const given = button?.getAttribute("formaction") || form.getAttribute("action");
  const url = new URL(given || location.href, location.href);
  return url.origin === location.origin ? url.pathname + url.search : "";
}

/**
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} button
 * @returns {Waiting}
 */
function entryOf(form, button) {
  const key = newKey();
  /** @type {[string, string][]} */ const fields = [];
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") fields.push([name, name === "entry_key" ? key : value]);
  }
  if (button instanceof HTMLButtonElement && button.name) fields.push([button.name, button.value]);
  return {
    key, fields, action: addressOf(form, button), page: location.pathname + location.search,
    entered: new Date().toISOString(), words: sayOf(form, button), refused: "",
  };
}

/**
 * Keep an entry, send it, and show what became of it.
 * @param {HTMLFormElement} form
 * @param {Waiting} entry
 */
async function enter(form, entry) {
  const typed = remember(form);
  await opening;
  const number = await keepEntry(entry); // a fault up to here: the form is sent plainly
  const replaced = Number(form.dataset.replaces ?? "");
  if (replaced) { await dropEntry(replaced); delete form.dataset.replaces; }
  const sent = outcomeOf(number);
  const slow = new Promise((resolve) => { setTimeout(resolve, SLOW, null); });
  /** @type {Outcome | null} */ const soon = await Promise.race([sent, slow]);
  if (!soon && form.dataset.quick !== undefined) {
    await waitHere(form, typed); // on the bench nobody waits for a network: on to the next reading
    if ((await sent).kind === "taken") {
      tellTaken(1);
      tellAt(form, "Saved: it is in the record.", "");
    }
    await show();
    return;
  }
  if (!soon) await show();
  await settle(form, typed, entry, number, soon ?? await sent);
}

/**
 * @param {number} number
 * @returns {Promise<Outcome>}
 */
async function outcomeOf(number) {
  if (sending) await sending;
  return (await sendAll()).get(number) ?? { kind: "waits", reason: trouble };
}

/**
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 * @param {Waiting} entry
 * @param {number} number
 * @param {Outcome} outcome
 */
async function settle(form, typed, entry, number, outcome) {
  const busy = goneOn(form, typed);
  if (outcome.kind === "taken") {
    await show();
    if (busy) { clear(form, typed); tellAt(form, "Saved: it is in the record.", ""); }
    else if (!outcome.page || !showAnswer(outcome.page, "")) goTo(outcome.go);
  } else if (outcome.kind === "waits") {
    await waitHere(form, typed);
  } else if (!busy && showAnswer(outcome.page, entry.action)) {
    await dropEntry(number); // it is in the form again, with the fault named
    await show();
  } else {
    clear(form, typed);
    await show();
    document.getElementById("outbox")?.scrollIntoView();
    announce(`Not taken: ${outcome.reason}`);
  }
}

/**
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 */
async function waitHere(form, typed) {
  clear(form, typed);
  const waiting = await show();
  if (!waiting) return;
  tellAt(form, `Saved on this ${deviceWord()}, not yet in the record: ${entriesOf(waiting)}.`,
    "outbox-said");
}

/**
 * Say something below a form, where the finger is.
 * @param {HTMLFormElement} form
 * @param {string} words
 * @param {string} look
 */
function tellAt(form, words, look) {
  let place = form.nextElementSibling;
  if (!place?.matches(".said[data-told]")) {
    place = document.createElement("p");
    place.setAttribute("data-told", "");
    form.after(place);
  }
  place.className = `said ${look}`;
  place.textContent = words;
  announce(words);
}

/**
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} button
 */
function sendPlainly(form, button) {
  form.dataset.direct = "";
  form.requestSubmit(button);
}

/** @param {string} address */
function goTo(address) {
  const url = new URL(address, location.href);
  const same = url.pathname === location.pathname && url.search === location.search;
  location.assign(url);
  if (same && url.hash) location.reload(); // else only the place in the page would change
}

/** Send what waits, one after another in the order it was typed; stop where the line is gone. */
function sendAll() {
  sending ??= sendEach().finally(() => { sending = null; });
  return sending;
}

/** @returns {Promise<Map<number, Outcome>>} */
async function sendEach() {
  /** @type {Map<number, Outcome>} */ const outcomes = new Map();
  for (const entry of await readEntries()) {
    if (entry.refused) continue;
    const number = entry.number ?? 0;
    const outcome = await send(entry);
    outcomes.set(number, outcome);
    if (outcome.kind === "waits") { trouble = outcome.reason; break; }
    trouble = "";
    if (outcome.kind === "taken") await dropEntry(number);
    else await keepEntry({ ...entry, refused: outcome.reason });
  }
  return outcomes;
}

/**
 * @param {Waiting} entry
 * @returns {Promise<Outcome>}
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
    if (NOT_THE_ENTRY.has(answer.status)) return { kind: "waits", reason };
    return { kind: "refused", reason, page: text };
  } catch {
    return { kind: "waits", reason: "The record cannot be reached." };
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
 * Return in words why an answer is a refusal.
 * @param {string} text
 * @param {number} status
 */
function reasonOf(text, status) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const faults = [...page.querySelectorAll('main [role="alert"] li')];
  const said = faults.length ? faults : [...page.querySelectorAll("main h1, main h1 ~ p")].slice(0, 2);
  const words = said.map((one) => (one.textContent ?? "").replace(/\s+/g, " ").trim());
  return words.filter(Boolean).join(" ") || `The server answered ${status}.`;
}

/** Send what waits, and try again later while something does. */
async function sendAgain() {
  clearTimeout(timer);
  if (sending) return;
  const before = (await readEntries()).filter((entry) => !entry.refused).length;
  if (!before) { await show(); return; }
  const outcomes = await sendAll();
  const taken = [...outcomes.values()].filter((one) => one.kind === "taken").length;
  const left = await show();
  if (taken) tellTaken(taken);
  if (left) timer = setTimeout(sendAgain, AGAIN[Math.min(tries++, AGAIN.length - 1)]);
}

/** @param {number} taken how many entries */
function tellTaken(taken) {
  tries = 0;
  const words = `Now in the record: ${entriesOf(taken)} that waited on this ${deviceWord()}.`;
  document.querySelectorAll(".said[data-told]").forEach((one) => {
    one.className = "said";
    one.textContent = words;
  });
  announce(words);
}

/** @returns {Promise<number>} how many wait */
async function show() {
  const entries = await readEntries();
  showOutbox(entries, trouble);
  const waiting = entries.filter((entry) => !entry.refused).length;
  if (!waiting) trouble = "";
  return waiting;
}

/** @param {MouseEvent} event */
async function onClick(event) {
  const button = event.target instanceof Element ? event.target.closest("[data-waits]") : null;
  if (!(button instanceof HTMLElement)) return;
  const number = Number(button.dataset.number ?? 0);
  if (button.dataset.waits === "send") {
    tries = 0;
    await sendAgain();
  } else if (button.dataset.waits === "discard") {
    await dropEntry(number);
    await show();
    announce("Discarded.");
  } else if (button.dataset.waits === "again") {
    const entry = (await readEntries()).find((one) => one.number === number);
    if (entry) goTo(`${entry.page}#again-${number}`);
  }
}
