// SPDX-License-Identifier: MIT
// <live-chart>: puts a canvas in the place of the server's drawing, with the same numbers.
// Keyboard: arrow keys move along the numbers, Home and End go to the ends; each is said aloud.
// @ts-check

import { placeMarks } from "./mark_lanes.js";

/**
 * @typedef {{name: string, kind: "line"|"points"|"band", dash: "solid"|"dash"|"dot",
 *            ink: number|null, x: number[],
 *            y: number[], low: number[], high: number[]}} Line
 * @typedef {{id: string, title: string, x: {label: string, unit: string},
 *            y: {label: string, unit: string, low?: number, high?: number},
 *            marks: {x: number, label: string, happened: boolean}[],
 *            series: Line[]}} ChartData
 */

const DASH = { solid: [], dash: [8, 5], dot: [2, 4] };
const FONT = "13px system-ui, sans-serif";
const LANE = 16; // px of a word above the drawing
const INKS = ["--accent", "--ink", "--done", "--watch"];

/** @type {Promise<any> | null} */
let plotter = null;

/** Load the plotter once, when the first chart needs it; resolves to null where it is missing. */
function loadPlotter() {
  if (plotter) return plotter;
  const address = document.querySelector('meta[name="plotter"]')?.getAttribute("content");
  plotter = !address ? Promise.resolve(null) : import(address).then((m) => m.default, () => null);
  return plotter;
}

/** @param {(words: string) => void} announce */
export function defineLiveChart(announce) {
  if (customElements.get("live-chart")) return;
  customElements.define("live-chart", class extends HTMLElement {
    async connectedCallback() {
      const source = document.getElementById(this.dataset.chart ?? "");
      const place = this.querySelector(".plot");
      const UPlot = source && place ? await loadPlotter() : null;
      if (!UPlot || !source || !(place instanceof HTMLElement) || !this.isConnected) return;
      /** @type {ChartData} */
      const data = JSON.parse(source.textContent ?? "{}");
      this.draw(UPlot, data, place);
    }

    /**
     * @param {any} UPlot
     * @param {ChartData} data
     * @param {HTMLElement} place
     */
    draw(UPlot, data, place) {
      const live = document.createElement("div");
      live.className = "plot-live";
      live.tabIndex = 0;
      live.setAttribute("role", "application");
      live.setAttribute("aria-label", `${data.title}. Arrow keys read the numbers.`);
      place.after(live);
      const { columns, series, bands } = arrange(data);
      const aligned = UPlot.join(columns);
      const height = () => Math.max(240, Math.min(420, live.clientWidth * 0.6));
      const xs = [...aligned[0], ...data.marks.map((mark) => mark.x)];
      const ends = [Math.min(...xs), Math.max(...xs)];
      let rows = 0; // as many as any width near the one that comes out needs
      const reserve = (/** @type {any} */ u) => {
        const width = (u.width || live.clientWidth) - 48;
        rows = Math.max(...[0, 12, 24].map((less) => lanes(u, data, ends, width - less)));
        return 10 + LANE * rows;
      };
      const plot = new UPlot({
        width: live.clientWidth || 320, height: height(), series, bands,
        legend: { show: false }, cursor: { drag: { x: false, y: false } },
        padding: [reserve, 12, 0, 0],
        scales: {
          x: { time: false, range: () => ends },
          y: { range: (/** @type {any} */ _, /** @type {number} */ low, /** @type {number} */ high) => UPlot.rangeNum(
            Math.min(low, data.y.low ?? low), Math.max(high, data.y.high ?? high), 0.1, true) },
        },
        axes: [{ ...axis(data.x), size: 34 }, { ...axis(data.y), size: 48 }],
        hooks: { draw: [(/** @type {any} */ u) => drawMarks(u, data.marks, rows)] },
      }, aligned, live);
      place.hidden = true;
      new ResizeObserver(() => plot.setSize({ width: live.clientWidth, height: height() })).observe(live);
      matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => plot.redraw());
      this.readByKeys(live, plot, data);
    }

    /**
     * @param {HTMLElement} live
     * @param {any} plot
     * @param {ChartData} data
     */
    readByKeys(live, plot, data) {
      let at = -1;
      live.addEventListener("keydown", (event) => {
        const last = plot.data[0].length - 1;
        const next = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: last }[event.key];
        if (next === undefined) return;
        event.preventDefault();
        at = Math.max(0, Math.min(last, next));
        const x = plot.data[0][at];
        plot.setCursor({ left: plot.valToPos(x, "x"), top: plot.over.clientHeight / 2 });
        announce(words(data, x));
      });
    }
  });
}

/**
 * @param {ChartData} data
 * @param {number} x
 */
function words(data, x) {
  const parts = data.series.flatMap((line) => {
    const index = line.x.indexOf(x);
    return index < 0 ? [] : [`${line.name} ${short(line.y[index])} ${data.y.unit}`];
  });
  return `${data.x.label} ${short(x)} ${data.x.unit}: ${parts.join(", ") || "nothing here"}`;
}

/** @param {number} value */
function short(value) {
  return Number(value.toPrecision(4)).toString();
}

/** @param {ChartData} data */
function arrange(data) {
  /** @type {any[]} */ const columns = [];
  /** @type {any[]} */ const series = [{}];
  /** @type {any[]} */ const bands = [];
  data.series.forEach((line, number) => {
    const ink = () => colour(INKS[(line.ink ?? number) % INKS.length]);
    const points = line.kind === "points", plain = line.kind === "line";
    columns.push([line.x, line.y]);
    series.push({
      label: line.name, stroke: ink, width: plain ? 2.2 : 0, dash: DASH[line.dash],
      spanGaps: true, points: { show: points, size: 9, stroke: ink, fill: () => colour("--sheet") },
    });
    if (!line.low.length) return;
    columns.push([line.x, line.high], [line.x, line.low]);
    const edge = { stroke: "transparent", width: 0, spanGaps: true, points: { show: false } };
    series.push({ ...edge, label: "high" }, { ...edge, label: "low" });
    bands.push({ series: [series.length - 2, series.length - 1], fill: () => tint(ink()) });
  });
  return { columns, series, bands };
}

/** @param {{label: string, unit: string}} one */
function axis(one) {
  return {
    label: one.unit ? `${one.label}, ${one.unit}` : one.label,
    stroke: () => colour("--ink"), grid: { stroke: () => colour("--rule"), width: 1 },
    ticks: { stroke: () => colour("--rule-strong"), width: 1 }, font: FONT, labelFont: FONT, labelSize: 20, labelGap: 2,
  };
}

/**
 * How many lanes the words of the marks need.
 * @param {any} plot
 * @param {ChartData} data
 * @param {number[]} ends
 * @param {number} width
 */
function lanes(plot, data, ends, width) {
  plot.ctx.save();
  plot.ctx.font = FONT;
  const marks = data.marks.map((mark) => ({
    x: ((mark.x - ends[0]) / (ends[1] - ends[0] || 1)) * width, width: plot.ctx.measureText(mark.label).width,
  }));
  plot.ctx.restore();
  return Math.max(0, ...placeMarks(marks, 0, width).map((one) => one.lane + 1));
}

/**
 * @param {any} plot
 * @param {{x: number, label: string, happened: boolean}[]} marks
 * @param {number} rows
 */
function drawMarks(plot, marks, rows) {
  const { ctx, bbox } = plot;
  const scale = devicePixelRatio || 1;
  ctx.save();
  ctx.fillStyle = colour("--ink");
  ctx.font = FONT.replace("13px", `${13 * scale}px`);
  ctx.lineWidth = scale;
  const spots = marks.map((mark) => ({
    x: plot.valToPos(mark.x, "x", true) / scale, width: ctx.measureText(mark.label).width / scale,
  }));
  const placed = placeMarks(spots, bbox.left / scale, (bbox.left + bbox.width) / scale);
  placed.forEach((place, number) => {
    const { x } = spots[number];
    const top = bbox.top / scale - LANE * (rows - place.lane) - 2;
    ctx.strokeStyle = colour(marks[number].happened ? "--faded" : "--accent");
    ctx.setLineDash(marks[number].happened ? [] : [2 * scale, 3 * scale]);
    ctx.beginPath();
    ctx.moveTo(x * scale, top * scale);
    ctx.lineTo(x * scale, bbox.top + bbox.height);
    ctx.stroke();
    const before = place.right <= x;
    ctx.textAlign = before ? "right" : "left";
    ctx.fillText(marks[number].label, (before ? place.right : place.left) * scale, (top + 12) * scale);
  });
  ctx.restore();
}

/**
 * A colour of ours so thin that lines show through it.
 * @param {string} ink
 */
function tint(ink) {
  const digits = ink.slice(1);
  return `#${digits.length === 3 ? digits.replace(/./g, "$&$&") : digits}2b`;
}

/** @param {string} name */
function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}
