// SPDX-License-Identifier: MIT
// What every page may use. Each module improves plain HTML that works without it.
// @ts-check

import { announce } from "./announce.js";
import { defineLiveChart } from "./chart.js";
import { followRecord } from "./events.js";
import { keepFresh } from "./fresh.js";
import { watchLine } from "./line.js";
import { startOutbox } from "./outbox.js";

/** A button that fills a field with the last value. */
document.addEventListener("click", (event) => {
  const button = event.target instanceof Element ? event.target.closest("[data-fill]") : null;
  if (!(button instanceof HTMLElement)) return;
  const field = document.getElementById(button.dataset.fill ?? "");
  if (!(field instanceof HTMLInputElement)) return;
  field.value = button.dataset.value ?? "";
  field.focus();
});

startOutbox(announce); // before what follows: it takes the forms it can keep

/** A form that is on its way is not sent twice by an impatient finger. */
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || form.method !== "post" || event.defaultPrevented) return;
  const button = event.submitter;
  if (button instanceof HTMLButtonElement) {
    setTimeout(() => { button.disabled = true; }, 0);
    setTimeout(() => { button.disabled = false; }, 4000);
  }
});

defineLiveChart(announce);
watchLine(announce);
keepFresh();
followRecord();
