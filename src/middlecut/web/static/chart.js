// SPDX-License-Identifier: MIT
// <live-chart>: puts a canvas in the place of the server's drawing, with the same numbers.
// Keyboard: arrow keys move along the numbers, Home and End go to the ends; each is said aloud.
// @ts-check

/**
 * @typedef {{name: string, kind: "line"|"points", dash: "solid"|"dash"|"dot",
 *            ink: number|null, x: number[],
 *            y: number[], low: number[], high: number[]}} Line
 * @typedef {{id: string, title: string, x: {label: string, unit: string},
 *            y: {label: string, unit: string}, marks: {x: number, label: string}[],
 *            series: Line[]}} ChartData
 */

const DASH = { solid: [], dash: [8, 5], dot: [2, 4] };
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
      const plot = new UPlot({
        width: live.clientWidth || 320, height: height(), series, bands,
        legend: { show: false }, cursor: { drag: { x: false, y: false } },
        scales: { x: { time: false } },
        axes: [axis(data.x), axis(data.y)],
        hooks: { draw: [(/** @type {any} */ u) => drawMarks(u, data.marks)] },
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
    const points = line.kind === "points";
    columns.push([line.x, line.y]);
    series.push({
      label: line.name, stroke: ink, width: points ? 0 : 2.2, dash: DASH[line.dash],
      spanGaps: true, points: { show: points, size: 9, stroke: ink, fill: () => colour("--sheet") },
    });
    if (!line.low.length) return;
    columns.push([line.x, line.high], [line.x, line.low]);
    const edge = { stroke: "transparent", width: 0, spanGaps: true, points: { show: false } };
    series.push({ ...edge, label: "high" }, { ...edge, label: "low" });
    bands.push({ series: [series.length - 2, series.length - 1], fill: () => colour("--band") });
  });
  return { columns, series, bands };
}

/** @param {{label: string, unit: string}} one */
function axis(one) {
  return {
    label: one.unit ? `${one.label}, ${one.unit}` : one.label,
    stroke: () => colour("--ink"), grid: { stroke: () => colour("--rule"), width: 1 },
    ticks: { stroke: () => colour("--rule-strong"), width: 1 }, font: "13px system-ui", labelFont: "13px system-ui",
  };
}

/**
 * @param {any} plot
 * @param {{x: number, label: string}[]} marks
 */
function drawMarks(plot, marks) {
  const { ctx, bbox } = plot;
  const scale = devicePixelRatio || 1;
  ctx.save();
  ctx.strokeStyle = colour("--accent");
  ctx.fillStyle = colour("--ink");
  ctx.font = `${13 * scale}px system-ui`;
  ctx.setLineDash([2 * scale, 3 * scale]);
  marks.forEach((mark, number) => {
    const x = plot.valToPos(mark.x, "x", true);
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    const end = x > bbox.left + bbox.width * 0.75;
    ctx.textAlign = end ? "right" : "left";
    ctx.fillText(mark.label, x + (end ? -4 : 4) * scale, bbox.top + (14 + 16 * (number % 3)) * scale);
  });
  ctx.restore();
}

/** @param {string} name */
function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}
