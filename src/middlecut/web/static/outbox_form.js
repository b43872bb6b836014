// SPDX-License-Identifier: MIT
// Forms of the outbox: what an entry says in words, the way back into its form, and the answer of
// the server shown without leaving the page.
// @ts-check

/** @typedef {import("./outbox_store.js").Waiting} Waiting */

const LONGEST = 160;

/**
 * Say what a form holds, as the person sees it.
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} button
 */
export function sayOf(form, button) {
  const parts = [...form.elements].flatMap((field) => {
    const typed = valueOf(field);
    const label = typed ? labelOf(field) : "";
    return label ? [typed === true ? label : `${label} ${typed}`] : [];
  });
  const words = [trim(button?.textContent ?? ""), parts.join(", ")].filter(Boolean).join(": ");
  return words.length > LONGEST ? `${words.slice(0, LONGEST - 1)}…` : words;
}

/**
 * @param {Element} field
 * @returns {string | boolean}
 */
function valueOf(field) {
  if (field instanceof HTMLSelectElement) return trim(field.selectedOptions[0]?.textContent ?? "");
  if (field instanceof HTMLTextAreaElement) return trim(field.value);
  if (!(field instanceof HTMLInputElement) || field.type === "hidden") return false;
  return field.type === "checkbox" || field.type === "radio" ? field.checked : trim(field.value);
}

/**
 * Remember what stands in a form.
 * @param {HTMLFormElement} form
 * @returns {Map<Element, string>}
 */
export function remember(form) {
  return new Map([...form.elements].map((field) => [field, `${valueOf(field)}`]));
}

/**
 * Tell whether something else was typed since.
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 */
export function goneOn(form, typed) {
  return [...form.elements].some((field) => typed.get(field) !== `${valueOf(field)}`);
}

/**
 * Make a form ready for the next entry: what was sent goes, what came filled in (a temperature)
 * stays as it was typed, and what was typed since stays too.
 * @param {HTMLFormElement} form
 * @param {Map<Element, string>} typed
 */
export function clear(form, typed) {
  for (const field of form.elements) {
    if (typed.get(field) !== `${valueOf(field)}`) continue;
    if (field instanceof HTMLInputElement && ["checkbox", "radio"].includes(field.type)) {
      field.checked = field.defaultChecked;
    } else if (field instanceof HTMLTextAreaElement
        || (field instanceof HTMLInputElement && field.type !== "hidden")) {
      if (!field.defaultValue) field.value = "";
    }
  }
}

/** @param {Element} field */
function labelOf(field) {
  const label = field instanceof HTMLInputElement || field instanceof HTMLSelectElement
    || field instanceof HTMLTextAreaElement ? field.labels?.[0] : null;
  if (!label || label.classList.contains("unseen")) return "";
  const copy = label.cloneNode(true);
  if (copy instanceof Element) {
    copy.querySelectorAll(".aside, input, select, textarea").forEach((one) => one.remove());
  }
  return trim(copy.textContent ?? "");
}

/** @param {string} text */
function trim(text) {
  return text.replace(/\s+/g, " ").trim();
}

/**
 * Return the address where an entry is put back into its form: with the units it was typed in beside
 * the fields, whatever the settings are now.
 * @param {Waiting} entry
 * @param {number} number
 */
export function wayBack(entry, number) {
  const url = new URL(entry.page, location.href);
  url.searchParams.delete("said");
  const units = entry.fields.find(([name]) => name === "units");
  if (units) url.searchParams.set("units", units[1]);
  url.hash = `again-${number}`;
  return url.pathname + url.search + url.hash;
}

/**
 * Put a refused entry back into its form when the address of the page asks for it.
 * @param {Waiting[]} entries
 */
export async function bringToForm(entries) {
  const number = Number(/^#again-(\d+)$/.exec(location.hash)?.[1] ?? 0);
  const entry = entries.find((one) => one.number === number);
  const form = entry ? formOf(document, entry.action, entry.fields) : null;
  if (!entry || !form) return;
  fill(form, entry.fields);
  form.dataset.replaces = String(number);
  form.dataset.key = entry.key;
  form.closest("details")?.setAttribute("open", "");
  firstField(form)?.focus();
}

/**
 * @param {HTMLFormElement} form
 * @param {[string, string][]} fields
 * @param {Set<string> | null} only the names of the fields to fill; null: all
 */
function fill(form, fields, only = null) {
  for (const field of form.elements) {
    if (only && !only.has(field.getAttribute("name") ?? "")) continue;
    if (field instanceof HTMLInputElement && ["checkbox", "radio"].includes(field.type)) {
      field.checked = fields.some(([name, value]) => name === field.name && value === field.value);
    } else if ((field instanceof HTMLInputElement && (field.type !== "hidden" || field.name === "units"))
        || field instanceof HTMLTextAreaElement || field instanceof HTMLSelectElement) {
      const typed = fields.find(([name]) => name === field.name);
      if (typed) field.value = typed[1];
    }
  }
  withUnitTyped(form, fields);
}

/**
 * Write the unit into a field whose unit has changed since: water was typed beside kg, the page now
 * has g.
 * @param {HTMLFormElement} form
 * @param {[string, string][]} fields
 */
function withUnitTyped(form, fields) {
  const sent = (/** @type {string} */ name) => fields.find((field) => field[0] === name)?.[1] ?? "";
  const now = form.elements.namedItem("water_unit");
  const water = form.elements.namedItem("water");
  if (!(now instanceof HTMLInputElement) || !(water instanceof HTMLInputElement)) return;
  const bare = /^\s*\d[\d.,\s]*$/.test(water.value);
  if (!bare || !sent("water_unit") || sent("water_unit") === now.value) return;
  const heavy = sent("water_unit") === "kilos";
  const unit = sent("units") === "us" ? (heavy ? "lb" : "oz") : (heavy ? "kg" : "g");
  water.value = `${water.value.trim()} ${unit}`;
}

/**
 * Return the other forms of the page in which something stands that nobody has sent.
 * @param {HTMLFormElement} form
 */
export function typedElsewhere(form) {
  return [...document.forms].filter((one) => one !== form && one.method === "post"
    && (one.dataset.unsent !== undefined || [...one.elements].some(isTyped)));
}

/** @param {Element} field */
function isTyped(field) {
  if (field instanceof HTMLInputElement) {
    if (["checkbox", "radio"].includes(field.type)) return field.checked !== field.defaultChecked;
    return field.type !== "hidden" && field.value !== field.defaultValue;
  }
  if (field instanceof HTMLTextAreaElement) return field.value !== field.defaultValue;
  if (!(field instanceof HTMLSelectElement)) return false;
  const given = [...field.options].findIndex((one) => one.defaultSelected);
  return field.selectedIndex !== Math.max(given, 0);
}

/**
 * Take what stands unsent in a form along to the page that takes the place of this one.
 * @param {HTMLFormElement} form
 * @param {Document} page
 */
function takeAlong(form, page) {
  const whole = form.dataset.unsent !== undefined;
  /** @type {[string, string][]} */ const all = [];
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") all.push([name, value]);
  }
  const typed = new Set([...form.elements].filter((one) => whole || isTyped(one))
    .map((one) => one.getAttribute("name") ?? ""));
  const action = form.getAttribute("action") || location.href;
  const target = formOf(page, action, all);
  if (!target) return;
  fill(target, all.filter(([name]) => typed.has(name)), typed);
  if (whole) target.dataset.unsent = "";
}

/**
 * Show the page a form was answered with in the place of this one's content. What stands unsent in
 * other forms is taken along.
 * @param {string} html
 * @param {string} action of the form whose fields have to be in it; "" for any page
 * @param {HTMLFormElement} sent the form that was answered
 * @returns {boolean} false if what was typed is not in it
 */
export function showAnswer(html, action, sent) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const fresh = page.getElementById("content");
  const old = document.getElementById("content");
  const back = action ? formOf(page, action, []) : null;
  if (!fresh || !old || (action && !back)) return false;
  typedElsewhere(sent).forEach((one) => takeAlong(one, page));
  if (back) back.dataset.unsent = ""; // what it holds stands nowhere else
  old.replaceWith(fresh);
  document.title = page.title;
  /** @type {any} */ (window).htmx?.process(fresh);
  const wrong = fresh.querySelector('[aria-invalid="true"]') ?? fresh.querySelector('[role="alert"]');
  if (wrong instanceof HTMLElement) {
    if (wrong.tabIndex < 0) wrong.tabIndex = -1;
    wrong.focus();
  }
  wrong?.scrollIntoView({ block: "center" });
  return true;
}

/**
 * Find the form that sends to an address; of several the one with the same fields.
 * @param {Document} page
 * @param {string} action
 * @param {[string, string][]} fields
 */
function formOf(page, action, fields) {
  const path = new URL(action, location.href).pathname;
  const found = [...page.querySelectorAll("form")].filter((form) => {
    const senders = [form, ...form.querySelectorAll("[formaction]")];
    const given = senders.map((one) => one.getAttribute("action") ?? one.getAttribute("formaction"));
    return given.some((one) => new URL(one || location.href, location.href).pathname === path);
  });
  const sent = new Map(fields);
  const hits = (/** @type {HTMLFormElement} */ form) => [...form.elements].filter((field) => {
    const typed = sent.get(field.getAttribute("name") ?? "");
    // Of several forms in a table the one that means the same jar.
    return typed !== undefined && (!(field instanceof HTMLInputElement) || field.type !== "hidden"
      || field.value === typed);
  }).length;
  return found.sort((a, b) => hits(b) - hits(a))[0] ?? null;
}

/** @param {HTMLFormElement} form */
function firstField(form) {
  /** @type {HTMLElement | null} */
  const field = form.querySelector('input:not([type="hidden"]), select, textarea');
  return field;
}
