// SPDX-License-Identifier: MIT
// Says plainly what is saved where: entries on this device that the record does not have yet, and
// whether the record can be reached.
// @ts-check

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
 * @param {Waiting[]} entries
 * @param {string} trouble why they wait; "" when they are on their way
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
 * @param {string} trouble
 */
function waitingPart(entries, trouble) {
  const head = headline(
    `Saved on this ${deviceWord()}, not yet in the record: ${entriesOf(entries.length)}`, "waits");
  const why = make("p", `${trouble} They are sent by themselves, in this order, with the time of `
    + "typing, while a page of middlecut is open here. Closing the page does not lose them.");
  const send = button("Send now", "send", 0);
  const list = make("ul");
  list.append(...entries.map((entry) => {
    const line = make("li", `${timeOf(entry)} ${entry.words} `);
    return line;
  }));
  const actions = make("p");
  actions.className = "actions";
  actions.append(send);
  return [head, why, list, actions];
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
  const time = at.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const today = at.toDateString() === new Date().toDateString();
  return today ? time : `${at.toLocaleDateString()} ${time}`;
}
