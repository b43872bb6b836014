// SPDX-License-Identifier: MIT
// Parts of a page that follow the record: an element with an id and
//   data-fresh="batch/ID"   (or "*" for anything)
// is fetched anew when something happened there; while somebody is in it, when they leave it.
// @ts-check

const WAIT = 250; // ms: several entries in a row are one look

/** Keep the marked parts of this page fresh. */
export function keepFresh() {
  /** @type {Set<string>} */ const changed = new Set();
  let waiting = 0;
  document.addEventListener("middlecut:record", (event) => {
    if (!(event instanceof CustomEvent)) return;
    changed.add(event.detail.stream);
    later();
  });
  const later = () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const streams = new Set(changed);
      changed.clear();
      if (await look(streams)) return;
      streams.forEach((stream) => changed.add(stream));
      document.addEventListener("focusout", later, { once: true });
    }, WAIT);
  };
  // What could not be fetched is, when the line is back.
  const again = () => { if (changed.size) later(); };
  addEventListener("online", again);
  document.addEventListener("middlecut:line", (event) => {
    if (event instanceof CustomEvent && event.detail.up) again();
  });
}

/**
 * @param {Set<string>} changed
 * @returns {Promise<boolean>} false if a part was left as it is: somebody is in it, or no line
 */
async function look(changed) {
  const wanted = [...document.querySelectorAll("[data-fresh][id]")].filter((one) => {
    const stream = one instanceof HTMLElement ? one.dataset.fresh ?? "" : "";
    return stream === "*" || changed.has("*") || changed.has(stream);
  });
  if (!wanted.length) return true;
  const answer = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return false;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  let all = true;
  for (const old of wanted) {
    const fresh = page.getElementById(old.id);
    if (!fresh || fresh.outerHTML === old.outerHTML) continue;
    if (old.contains(document.activeElement)) { all = false; continue; }
    old.replaceWith(fresh);
    /** @type {any} */ (window).htmx?.process(fresh);
  }
  return all;
}
