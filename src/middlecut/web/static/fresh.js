// SPDX-License-Identifier: MIT
// Parts of a page that follow the record: an element with an id and
//   data-fresh="batch/ID"   (or "*" for anything)
// is fetched anew when something happened there, unless somebody is typing in it.
// @ts-check

const WAIT = 250; // ms: several entries in a row are one look

/** Keep the marked parts of this page fresh. */
export function keepFresh() {
  /** @type {Set<string>} */ const changed = new Set();
  let waiting = 0;
  document.addEventListener("middlecut:record", (event) => {
    if (!(event instanceof CustomEvent)) return;
    changed.add(event.detail.stream);
    clearTimeout(waiting);
    waiting = setTimeout(() => { look(new Set(changed)); changed.clear(); }, WAIT);
  });
}

/** @param {Set<string>} changed */
async function look(changed) {
  const wanted = [...document.querySelectorAll("[data-fresh][id]")].filter((one) => {
    const stream = one instanceof HTMLElement ? one.dataset.fresh ?? "" : "";
    return stream === "*" || changed.has("*") || changed.has(stream);
  });
  if (!wanted.length) return;
  const answer = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const old of wanted) {
    const fresh = page.getElementById(old.id);
    if (!fresh || fresh.outerHTML === old.outerHTML || busy(old)) continue;
    old.replaceWith(fresh);
    /** @type {any} */ (window).htmx?.process(fresh);
  }
}

/** @param {Element} part */
function busy(part) {
  const here = document.activeElement;
  return here !== null && part.contains(here) && here.matches("input, select, textarea, button");
}
