// SPDX-License-Identifier: MIT
// Beside the still: figures that go on by themselves, and a word when a cut comes near.
// @ts-check

import { announce } from "./announce.js";

const SOON = /^(.+): ([1-5] min|\d+ s) to go$/;

let said = "";

/** Say the time to the next cut once a minute in the last five minutes. */
function tell() {
  const part = document.querySelector("[data-say]");
  const words = part instanceof HTMLElement ? part.dataset.say ?? "" : "";
  if (words !== said && SOON.test(words)) announce(words);
  said = words;
}

/** @param {HTMLElement} part */
async function look(part) {
  if (document.hidden || part.contains(document.activeElement)) return;
  const answer = await fetch(part.dataset.from ?? location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById(part.id);
  if (fresh) document.getElementById(part.id)?.replaceWith(fresh);
  tell();
}

/**
 * Let the power follow the cut that is chosen, unless somebody typed another.
 * @param {Event} happened
 */
function follow(happened) {
  const chosen = happened.target;
  if (!(chosen instanceof HTMLSelectElement) || chosen.name !== "into") return;
  const form = chosen.form;
  const [power, of, given] = ["power", "power_of", "power_given"].map((name) => form?.elements.namedItem(name));
  if (!(power instanceof HTMLInputElement && of instanceof HTMLInputElement && given instanceof HTMLInputElement)) return;
  if (power.value.trim() && power.value !== given.value) return;
  power.value = JSON.parse(form?.dataset.powers ?? "{}")[chosen.value] ?? "";
  of.value = chosen.value;
  given.value = power.value;
}
document.addEventListener("change", follow);

const part = document.querySelector("[data-every][id]");
if (part instanceof HTMLElement) {
  const { id } = part;
  setInterval(() => {
    const now = document.getElementById(id);
    if (now) look(now);
  }, 1000 * Number(part.dataset.every));
}
document.addEventListener("middlecut:record", () => setTimeout(tell, 800));
tell();
