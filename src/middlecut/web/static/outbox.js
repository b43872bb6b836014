// SPDX-License-Identifier: MIT
// Nothing typed is lost: an entry is first kept on this device, then sent, and leaves the device
// when the record has it. Without a line it waits and is sent in order when the line is back.
//
// It works on forms of a batch that carry an entry_key; they are plain forms without this module.
// data-quick frees a form for the next entry when the answer takes long, data-direct keeps one out.
// The server answers a request with the header x-outbox with JSON {"go": address} instead of a
// redirect, and takes the time of the entry from x-entered (and our clock from x-sent).
// @ts-check

import {
  bringToForm, clear, goneOn, remember, sayOf, showAnswer, typedElsewhere, wayBack,
} from "./outbox_form.js";
import { deviceWord, entriesOf, showOutbox } from "./outbox_bar.js";
import {
  dropRecorded, isSending, isShut, lastTrouble, newKey, outcomeOf, sendAll,
} from "./outbox_send.js";
import { changeEntry, dropEntry, keepEntry, openStore, readEntries } from "./outbox_store.js";

/**
 * @typedef {import("./outbox_store.js").Waiting} Waiting
 * @typedef {import("./outbox_send.js").Outcome} Outcome
 */

const CHANNEL = "middlecut-outbox";
const SLOW = 400; // ms after which a form of the bench is free for the next entry
const TWICE = 700; // ms within which a second tap with nothing typed between is the same one
const PUT_BACK = "It was put back into its form.";
const AGAIN = [2_000, 4_000, 8_000, 15_000, 30_000, 60_000]; // ms to the next try

/** @type {(words: string) => void} */
let announce = () => {};
/** @type {Promise<boolean>} */
let opening = Promise.resolve(false);
/** Tells the other pages of this device that something here changed. @type {BroadcastChannel | null} */
let others = null;
/**
 * What was sent last from a form, when, and what stands in it since.
 * @typedef {{at: number, sent: string, left: string, twice: boolean, button: HTMLElement | null}} Tap
 */
/** @type {WeakMap<HTMLFormElement, Tap>} */
const taps = new WeakMap();
let tries = 0;
let timer = 0;
let nextTry = 0; // ms since 1970

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
  others = "BroadcastChannel" in window ? new BroadcastChannel(CHANNEL) : null;
  others?.addEventListener("message", async (message) => {
    if (message.data === "taken") { tries = 0; await sendAgain(); }
    else if (await show()) sendLater();
  });
  await dropRecorded(keysShown());
  await show();
  await bringToForm(await readEntries());
  document.addEventListener("middlecut:record", async (event) => {
    const key = event instanceof CustomEvent ? event.detail.key : undefined;
    const taken = await dropRecorded([key, ...keysShown()]);
    if (taken) tellTaken(taken, await show());
  });
  const line = (/** @type {Event} */ event) => {
    if (event instanceof CustomEvent && event.detail.up) sendNow();
  };
  document.addEventListener("middlecut:line", line);
  addEventListener("online", sendNow);
  addEventListener("pageshow", () => { show(); });
  sendAgain();
}

/** Keys of the entries in the record that this page shows. */
function keysShown() {
  const rows = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-entry-key]"));
  return [...rows].map((row) => row.dataset.entryKey);
}

/** @param {SubmitEvent} event */
function onSubmit(event) {
  const form = event.target;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement) || !isOurs(form)) return;
  if ((event.submitter?.getAttribute("formmethod") ?? "post") !== "post") return; // it asks, only
  event.preventDefault();
  const entry = entryOf(form, event.submitter);
  if (isSecondTap(form, entry, event.submitter)) return;
  enter(form, entry).catch(() => sendPlainly(form, event.submitter));
}

/**
 * Tell whether a wet finger tapped twice; whoever presses again after a moment means a second entry,
 * also one that says the same.
 * @param {HTMLFormElement} form
 * @param {Waiting} entry
 * @param {HTMLElement | null} button
 */
function isSecondTap(form, entry, button) {
  const before = taps.get(form);
  const sent = contentOf(entry);
  const at = performance.now();
  const twice = before !== undefined && at - before.at < TWICE
    && (sent === before.sent || sent === before.left);
  if (before && twice) {
    before.at = at;
    before.twice = true;
    tellAt(form, tapped(form, ""), "outbox-said");
  } else {
    taps.set(form, { at, sent, left: sent, twice: false, button });
  }
  return twice;
}

/** @param {Waiting} entry */
function contentOf(entry) {
  return JSON.stringify([entry.action, entry.fields.filter(([name]) => name !== "entry_key")]);
}

/**
 * Add to what is said that two taps were one.
 * @param {HTMLFormElement} form
 * @param {string} words
 */
function tapped(form, words) {
  const twice = taps.get(form)?.twice
    ? "You tapped twice: it was kept once. For a second entry like it, press again." : "";
  return [words, twice].filter(Boolean).join(" ");
}

/**
 * Make a form ready for the next entry.
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 */
function empty(form, typed) {
  const busy = goneOn(form, typed);
  clear(form, typed);
  delete form.dataset.unsent;
  const tap = taps.get(form);
  // What was typed since is the next entry, never the rest of the last one.
  if (tap && !busy) tap.left = contentOf(entryOf(form, tap.button));
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
  // What was put back into its form goes under its own key: a part of it may be in the record.
  const key = form.dataset.key || newKey();
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
  if (replaced) {
    await dropEntry(replaced);
    delete form.dataset.replaces;
    delete form.dataset.key;
  }
  others?.postMessage("changed");
  const sent = sentOutcome(number, entry);
  const slow = new Promise((resolve) => { setTimeout(resolve, SLOW, null); });
  /** @type {Outcome | null} */ const soon = await Promise.race([sent, slow]);
  if (!soon && form.dataset.quick !== undefined) {
    // On the bench nobody waits for a network: on to the next reading, which may stand there already.
    const begun = goneOn(form, typed);
    await waitHere(form, typed);
    const left = remember(form);
    const late = await sent;
    if (late.kind === "refused") { // a fault or a question: it has to be seen, however late it comes
      await settle(form, left, entry, number, late, begun);
      return;
    }
    if (late.kind === "taken") {
      tellTaken(1, 0);
      tellAt(form, tapped(form, "Saved: it is in the record."), "");
    }
    await show();
    return;
  }
  if (!soon) {
    await show();
    tellAt(form, tapped(form, `Saved on this ${deviceWord()} and on its way to the record. `
      + "Pressing again makes a second entry."), "outbox-said");
  }
  await settle(form, typed, entry, number, soon ?? await sent);
}

/**
 * Send an entry that was just kept, and see that it is tried again should it wait.
 * @param {number} number
 * @param {Waiting} entry
 */
async function sentOutcome(number, entry) {
  const outcome = await outcomeOf(number, entry);
  if (outcome.kind === "waits") sendLater();
  others?.postMessage(outcome.kind === "taken" ? "taken" : "changed");
  return outcome;
}

/**
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 * @param {Waiting} entry
 * @param {number} number
 * @param {Outcome} outcome
 * @param {boolean} begun whether the next entry was begun before what was typed is compared with
 */
async function settle(form, typed, entry, number, outcome, begun = false) {
  const busy = begun || !form.isConnected || goneOn(form, typed);
  if (outcome.kind === "taken") {
    await show();
    if (busy || outcome.seen || typedElsewhere(form).length) { // a new page would lose it
      empty(form, typed);
      tellAt(form, tapped(form, "Saved: it is in the record."), "");
    } else if (!outcome.page || !showAnswer(outcome.page, "", form)) goTo(outcome.go);
  } else if (outcome.kind === "waits") {
    await waitHere(form, typed);
  } else if (outcome.kind === "elsewhere") {
    empty(form, typed);
    await show();
    tellAt(form, `Another page of middlecut on this ${deviceWord()} has sent it.`, "");
  } else if (!busy && showAnswer(outcome.page, entry.action, form)) {
    await dropEntry(number); // it is in the form again, with the fault named
    await show();
    others?.postMessage("changed");
  } else {
    if (!begun) empty(form, typed); // else it was made ready before, and holds the next entry
    await show();
    document.getElementById("outbox")?.scrollIntoView();
    tellAt(form, `Not taken: ${outcome.reason}`, "outbox-said");
  }
}

/**
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 */
async function waitHere(form, typed) {
  empty(form, typed);
  const waiting = await show();
  if (!waiting) return;
  tellAt(form, tapped(form,
    `Saved on this ${deviceWord()}, not yet in the record: ${entriesOf(waiting)}.`), "outbox-said");
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

/** Send what waits now that the line is back; the pauses begin anew. */
async function sendNow() {
  tries = 0;
  if (isSending()) await sendAll(); // a round that met the line while it was down
  await sendAgain();
}

/** Send what waits, and try again later while something does. */
async function sendAgain() {
  clearTimeout(timer);
  timer = 0;
  if (isSending()) { sendLater(); return; }
  const before = (await readEntries()).filter((entry) => !entry.refused).length;
  if (!before) { await show(); return; }
  const outcomes = [...(await sendAll()).values()];
  const taken = outcomes.filter((one) => one.kind === "taken").length;
  const left = (await readEntries()).filter((entry) => !entry.refused).length;
  if (taken) tellTaken(taken, left);
  if (left) sendLater();
  await show();
  const refused = outcomes.filter((one) => one.kind === "refused").length;
  if (refused) announce(`The record did not take ${entriesOf(refused)}; see above.`);
  if (taken) others?.postMessage("taken");
  else if (refused) others?.postMessage("changed");
}

/** Try again after a pause that grows each time. */
function sendLater() {
  if (timer || isShut()) return; // shut out: when it is let in again, or somebody asks for it
  const pause = AGAIN[Math.min(tries++, AGAIN.length - 1)];
  nextTry = Date.now() + pause;
  timer = setTimeout(sendAgain, pause);
}

/**
 * @param {number} taken how many entries
 * @param {number} left how many still wait
 */
function tellTaken(taken, left) {
  tries = 0;
  const words = `Now in the record: ${entriesOf(taken)} that waited on this ${deviceWord()}.`
    + (left ? ` Still waiting: ${entriesOf(left)}.` : "");
  document.querySelectorAll(".said[data-told]").forEach((one) => {
    one.className = "said";
    one.textContent = words;
  });
  announce(words);
}

/** @returns {Promise<number>} how many wait */
async function show() {
  const entries = await readEntries();
  showOutbox(entries, { words: lastTrouble(), next: timer ? nextTry : 0, shut: isShut() });
  return entries.filter((entry) => !entry.refused).length;
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
    others?.postMessage("changed");
    announce("Discarded.");
  } else if (button.dataset.waits === "again") {
    const entry = (await readEntries()).find((one) => one.number === number);
    if (!entry) return;
    // While it is in its form again it is not sent by itself, which would make two of it.
    await changeEntry(number, (one) => ({ ...one, refused: one.refused || one.trouble || PUT_BACK }));
    goTo(wayBack(entry, number));
  }
}
