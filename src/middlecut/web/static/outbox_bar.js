// SPDX-License-Identifier: MIT
// Says plainly what is saved where: entries on this device that the record does not have yet, and
// whether the record can be reached.
// @ts-check

import { FAULTS } from "./outbox_send.js";

/** @typedef {import("./outbox_store.js").Waiting} Waiting */

/** What a person calls this device. */
export function deviceWord() {
  if (!matchMedia("(pointer: coarse)").matches) return "computer";
  return matchMedia("(max-width: 40rem)").matches ? "phone" : "tablet";
}

/** @param {number} count */
export function entriesOf(count) {
  return `${count} ${count === 1 ? "entry" : "entries"}`;
}

/**
 * @typedef {object} Trouble
 * @property {string} words why entries wait; "" when they are on their way
 * @property {number} next when they are tried again, ms since 1970; 0 when that is not settled
 * @property {boolean} shut this device is not let in; line.js says so, once
 */

/**
 * @param {Waiting[]} entries
 * @param {Trouble} trouble
 */
export function showOutbox(entries, trouble) {
  const place = document.getElementById("outbox");
  if (!place) return;
  const waiting = entries.filter((entry) => !entry.refused);
  const refused = entries.filter((entry) => entry.refused);
  place.replaceChildren();
  if (waiting.length) place.append(...waitingPart(waiting, trouble));
  if (refused.length) place.append(...refusedPart(refused));
  place.hidden = !entries.length;
}

/**
 * @param {Waiting[]} entries
 * @param {Trouble} trouble
 */
function waitingPart(entries, trouble) {
  const head = headline(
    `Saved on this ${deviceWord()}, not yet in the record: ${entriesOf(entries.length)}`, "waits");
  const why = make("p", `${whyTheyWait(entries, trouble)} Closing the page does not lose them.`);
  const send = button("Send now", "send", 0);
  const list = make("ul");
  list.append(...entries.map((entry) => {
    const line = make("li", `${timeOf(entry)} ${entry.words} `);
    if ((entry.failed ?? 0) >= FAULTS) line.append(...failedPart(entry));
    return line;
  }));
  const actions = make("p");
  actions.className = "actions";
  actions.append(send);
  return [head, why, list, actions];
}

/**
 * @param {Waiting[]} entries
 * @param {Trouble} trouble
 */
function whyTheyWait(entries, { words, next, shut }) {
  if (shut) {
    return `They are sent in this order, with the time of typing, once this ${deviceWord()} is paired `
      + "again.";
  }
  const again = words && next ? ` Next try at ${clock(new Date(next), true)}; the pauses grow to a `
    + "minute." : "";
  const below = entries.some((entry) => (entry.failed ?? 0) >= FAULTS && entry.trouble === words);
  return `${below ? "" : words}${again} They are sent by themselves, in this order, with the time of `
    + "typing, while a page of middlecut is open here.";
}

/**
 * An entry on which middlecut failed again and again: it goes on being tried, or the person ends it.
 * @param {Waiting} entry
 */
function failedPart(entry) {
  const why = make("p", `Sent ${entry.failed} times, middlecut failed on it each time: `
    + `${entry.trouble} It is tried again and holds up no other entry.`);
  const actions = make("p");
  actions.className = "actions";
  actions.append(button("Put it back into its form", "again", entry.number ?? 0),
    button("Discard it", "discard", entry.number ?? 0, "danger"));
  return [why, actions];
}

/** @param {Waiting[]} entries */
function refusedPart(entries) {
  const head = headline(
    `Saved on this ${deviceWord()} only, the record did not take: ${entriesOf(entries.length)}`,
    "refused");
  const list = make("ul");
  list.append(...entries.map((entry) => {
    const line = make("li", `${timeOf(entry)} ${entry.words}`);
    const why = make("p", `Why: ${entry.refused}`);
    const actions = make("p");
    actions.className = "actions";
    actions.append(button("Put it back into its form", "again", entry.number ?? 0),
      button("Discard it", "discard", entry.number ?? 0, "danger"));
    line.append(why, actions);
    return line;
  }));
  return [head, list];
}

/**
 * @param {string} words
 * @param {string} kind
 */
function headline(words, kind) {
  const head = make("h2");
  head.className = "severity";
  const shape = make("span");
  shape.className = `shape ${kind}`;
  shape.setAttribute("aria-hidden", "true");
  head.append(shape, words);
  return head;
}

/**
 * @param {string} words
 * @param {string} act
 * @param {number} number
 * @param {string} look
 */
function button(words, act, number, look = "quiet") {
  const made = make("button", words);
  made.setAttribute("type", "button");
  made.className = look;
  made.dataset.waits = act;
  made.dataset.number = String(number);
  return made;
}

/**
 * @param {string} kind
 * @param {string} words
 */
function make(kind, words = "") {
  const made = document.createElement(kind);
  made.textContent = words;
  return made;
}

/** @param {Waiting} entry */
function timeOf(entry) {
  const at = new Date(entry.entered);
  const time = clock(at);
  const today = at.toDateString() === new Date().toDateString();
  return today ? time : `${at.toLocaleDateString()} ${time}`;
}

/**
 * @param {Date} at
 * @param {boolean} seconds
 */
export function clock(at, seconds = false) {
  const [hours, minutes, rest] = [at.getHours(), at.getMinutes(), at.getSeconds()]
    .map((part) => String(part).padStart(2, "0")); // by 24 hours, as everywhere on the pages
  return seconds ? `${hours}:${minutes}:${rest}` : `${hours}:${minutes}`;
}
