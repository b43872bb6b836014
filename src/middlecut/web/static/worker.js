// SPDX-License-Identifier: MIT
// Service worker, on this computer only: keeps pages that were seen, and shows them when the
// server is not there. It never sends and never keeps entries; outbox.js does that everywhere.
// @ts-check

const SHELF = "middlecut-pages-1";
const MOST = 120;
// Reads what outbox.js keeps, in the same shelf of the same database.
const LIST = `const asked = indexedDB.open("middlecut-outbox", 1);
asked.onupgradeneeded = () => {
  asked.result.createObjectStore("entries", { keyPath: "number", autoIncrement: true });
};
asked.onsuccess = () => {
  const all = asked.result.transaction("entries").objectStore("entries").getAll();
  all.onsuccess = () => {
    document.getElementById("count").textContent = all.result.length
      ? "Kept in this browser, not yet in the record: " + all.result.length : "No entry waits here.";
    for (const entry of all.result) {
      const line = document.createElement("li");
      const at = new Date(entry.entered);
      const time = [at.getHours(), at.getMinutes()].map((one) => String(one).padStart(2, "0"));
      line.textContent = at.toLocaleDateString() + " " + time.join(":") + " " + entry.words
        + (entry.refused ? " (the record did not take it: " + entry.refused + ")" : "");
      document.getElementById("waiting").append(line);
    }
    asked.result.close();
  };
};`;
const AWAY = `<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark">
<title>middlecut cannot be reached</title><main><h1>middlecut cannot be reached</h1>
<p>This browser keeps no copy of this page that it could show meanwhile. Start middlecut again, then
reload. Entries that wait here are kept, and sent when a page of middlecut is open again.</p>
<h2 id="count">Entries that wait</h2><ul id="waiting"></ul>
<p><a href="/">Shed</a></p></main><script>${LIST}</script></html>`;

const worker = /** @type {any} */ (self);

worker.addEventListener("install", () => worker.skipWaiting());
worker.addEventListener("activate", (/** @type {any} */ event) => {
  event.waitUntil(worker.clients.claim());
});

worker.addEventListener("fetch", (/** @type {any} */ event) => {
  /** @type {Request} */ const request = event.request;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== worker.location.origin) return;
  const page = request.mode === "navigate";
  if (page || url.pathname.startsWith("/static/")) event.respondWith(fetched(request, page));
});

worker.addEventListener("message", (/** @type {any} */ event) => {
  event.waitUntil(keep(event.data.page, event.data.parts));
});

/**
 * Keep the page that was open before this worker was, as the browser got it.
 * @param {string} page
 * @param {string[]} parts
 */
async function keep(page, parts) {
  const shelf = await caches.open(SHELF);
  for (const address of [page, ...parts]) {
    const answer = await fetch(address, { cache: "force-cache" }).catch(() => null);
    if (answer?.ok && !answer.redirected) await put(shelf, new Request(address), answer);
  }
}

/**
 * @param {Request} request
 * @param {boolean} page
 */
async function fetched(request, page) {
  const shelf = await caches.open(SHELF);
  try {
    const answer = await fetch(request);
    const html = answer.headers.get("content-type")?.startsWith("text/html") ?? false;
    if (answer.ok && !answer.redirected && html === page) await put(shelf, request, answer.clone());
    return answer;
  } catch {
    const known = await shelf.match(request) ?? await shelf.match(request, { ignoreSearch: true });
    if (known) return known;
    if (!page) return Response.error();
    return new Response(AWAY, { status: 503, headers: { "content-type": "text/html" } });
  }
}

/**
 * @param {Cache} shelf
 * @param {Request} request
 * @param {Response} answer
 */
async function put(shelf, request, answer) {
  await shelf.delete(request);
  await shelf.put(request, answer);
  const keys = await shelf.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST))) await shelf.delete(old);
}
