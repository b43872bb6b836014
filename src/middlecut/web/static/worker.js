// SPDX-License-Identifier: MIT
// Service worker, on this computer only: keeps pages that were seen, and shows them when the
// server is not there. It never sends and never keeps entries; outbox.js does that everywhere.
// @ts-check

const SHELF = "middlecut-pages-1";
const MOST = 120;
const AWAY = `<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark">
<title>middlecut cannot be reached</title><main><h1>middlecut cannot be reached</h1>
<p>This page was not opened here before. Start middlecut again, then reload.
Entries that wait on this device are kept and sent then.</p><p><a href="/">Shed</a></p></main></html>`;

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
