// SPDX-License-Identifier: MIT
// Where the words of a chart's upright lines stand: above the drawing, in lanes, never on another.
// web/mark_lanes.py does the same for the server's drawing; a change belongs in both.
// @ts-check

const ASIDE = 4; // px between a line and its word

/**
 * @param {{x: number, width: number}[]} marks
 * @param {number} left
 * @param {number} right
 * @returns {{lane: number, left: number, right: number}[]}
 */
export function placeMarks(marks, left, right) {
  const spans = marks.map(({ x, width }) => {
    const begin = x + ASIDE + width <= right ? x + ASIDE : Math.max(x - ASIDE - width, left);
    return { left: begin, right: begin + width };
  });
  /** @param {number} one @param {number} other */
  const through = (one, other) =>
    spans[other].left - ASIDE < marks[one].x && marks[one].x < spans[other].right + ASIDE;
  // A line waits for the words that it runs through; of two that cross each other, the later.
  /** @type {Map<number, number>} */ const lanes = new Map();
  const waiting = marks.map((_, number) => number);
  const waits = (/** @type {number} */ one) => waiting.some((other) =>
    other !== one && through(one, other) && (other < one || !through(other, one)));
  while (waiting.length) {
    const one = waiting.find((at) => !waits(at)) ?? waiting[0];
    waiting.splice(waiting.indexOf(one), 1);
    let lane = 0;
    const taken = new Set();
    for (const [other, its] of lanes) {
      if (through(one, other)) lane = Math.max(lane, its + 1);
      if (spans[one].left < spans[other].right && spans[other].left < spans[one].right) taken.add(its);
    }
    while (taken.has(lane)) lane += 1;
    lanes.set(one, lane);
  }
  return spans.map((span, number) => ({ ...span, lane: lanes.get(number) ?? 0 }));
}
