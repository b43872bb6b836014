// SPDX-License-Identifier: MIT
// The page's quiet voice. Modules of pages import it from here and never from start.js: pages load
// that under an address with a mark, and a second address would run it a second time.
// @ts-check

/**
 * Say something to a person who uses a screen reader, without moving the focus.
 * @param {string} words
 */
export function announce(words) {
  const place = document.getElementById("announcer");
  if (place) place.textContent = words;
}
