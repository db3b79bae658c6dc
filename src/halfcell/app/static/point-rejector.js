// @ts-check
/** A calibration with its bands and residuals; leaving a point out, with its reason. */
import { decide } from "/static/decide.js";
import { handUp, lay } from "/static/hand.js";
import { ask, say } from "/static/page.js";
import { scaled } from "/static/trace-view.js";

/** @typedef {{key: string, electrode: string, title: string}} Line */
/** @typedef {{x: number, y: number, file: string, used: boolean, why: string}} Point */
/** @typedef {{points: Point[], level: number, line_x: number[], line: number[], confidence: number[], prediction: number[], residual_x: number[], residual: number[]}} Shown */
/** @typedef {{electrode: string, file: string, concentration: number, written: string, why: string}} Rejected */

/** mol/m³ is mmol/L. @param {number} level */
const asText = (level) => `${Number(level.toPrecision(10))} mmol/L`;
/** @param {number} value @param {number} digits */
const shown = (value, digits = 4) => value.toPrecision(digits).replace("-", "−");

class PointRejector extends HTMLElement {
  /** What the page shows, in the server's words. */
  answer = "";

  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    /** @type {string} */
    this.openKey = "";
    this.querySelector("form")?.addEventListener("submit", (event) => { event.preventDefault(); this.reject(); });
    this.querySelector("#point-line")?.addEventListener("change", () => this.open());
    this.querySelector("#point-level")?.addEventListener("change", () => this.draw());
    this.addEventListener("renewed", () => this.fill());
    this.fill();
  }

  /** @param {string} id */
  chosen(id) {
    const select = this.querySelector(id);
    return select instanceof HTMLSelectElement ? select : null;
  }

  get line() { return this.lines?.find((line) => line.key === this.chosen("#point-line")?.value); }

  fill() {
    /** @type {{lines: Line[], rejected: Rejected[]}} */
    const start = JSON.parse(this.dataset.start || '{"lines":[],"rejected":[]}');
    this.lines = start.lines;
    const select = this.chosen("#point-line");
    if (!select) return;
    const before = select.value;
    lay(select, ...start.lines.map((line) => new Option(line.title, line.key)));
    if (start.lines.some((line) => line.key === before)) select.value = before;
    lay(this.querySelector("[data-out]"), ...start.rejected.map((one) => this.out(one)));
    this.open();
  }

  async open() {
    const line = this.line;
    if (!line) return;
    const response = await fetch(`/quantifies/calibration?key=${encodeURIComponent(line.key)}`).catch(() => null);
    if (!response?.ok || line.key !== this.line?.key) return;
    const answer = await response.text();
    await handUp();
    if (line.key !== this.line?.key || (answer === this.answer && line.key === this.openKey)) return; // drawn already
    this.answer = answer;
    /** @type {Shown} */
    const found = JSON.parse(answer);
    this.found = found;
    const select = this.chosen("#point-level");
    const before = select?.value || "0";
    const several = new Set(found.points.map((point) => point.file)).size > 1;
    const { factor, unit } = scaled(Float32Array.from(found.points, (point) => point.y));
    lay(select, ...found.points.map((point, i) => new Option(`${shown(point.x * 1e3)} µM, ${shown(point.y * factor)} ${unit}${several ? `, ${point.file}` : ""}${point.why ? ` (left out: ${point.why})` : ""}`, String(i))));
    if (select && Number(before) < found.points.length && this.openKey === line.key) select.value = before;
    this.openKey = line.key;
    this.draw();
  }

  draw() {
    const { found } = this;
    const chart = this.querySelector(".chart");
    if (!found || !chart) return;
    const { factor, unit } = scaled(Float32Array.from(found.points, (point) => point.y));
    const x = found.line_x.map((v) => v * 1e3);
    const line = found.line.map((v) => v * factor);
    /** @param {number[]} half @param {string} name @param {string} colour */
    const band = (half, name, colour) => ({ x: [...x, ...[...x].reverse()], y: [...line.map((v, i) => v + (half[i] ?? 0) * factor), ...line.map((v, i) => v - (half[i] ?? 0) * factor).reverse()], mode: "lines", fill: "toself", fillcolor: colour, line: { width: 0 }, hoverinfo: "skip", name });
    const percent = `${shown(found.level * 100, 2)} %`;
    /** @param {string} name @param {(point: Point) => boolean} belongs @param {Record<string, unknown>} marker */
    const dots = (name, belongs, marker) => {
      const all = found.points.map((point, i) => ({ ...point, i })).filter(belongs);
      return { x: all.map((p) => p.x * 1e3), y: all.map((p) => p.y * factor), customdata: all.map((p) => p.i), text: all.map((p) => p.why || p.file), mode: "markers", name, marker: { size: 9, ...marker }, hovertemplate: "%{x:.4g} µM, %{y:.4g}<br>%{text}<extra></extra>", showlegend: all.length > 0 };
    };
    const chosen = found.points[Number(this.chosen("#point-level")?.value || 0)];
    const traces = [
      band(found.prediction, `${percent} for a further point`, "rgba(15,107,102,0.12)"), band(found.confidence, `${percent} for the line`, "rgba(15,107,102,0.30)"),
      { x, y: line, mode: "lines", line: { color: "#0f6b66", width: 1.6 }, hoverinfo: "skip", name: "line" },
      dots("points of the line", (p) => p.used, { color: "#0f6b66" }), dots("outside the linear range", (p) => !p.used && !p.why, { color: "#ffffff", line: { color: "#0f6b66", width: 1.6 } }),
      dots("left out", (p) => p.why !== "", { color: "#D55E00", symbol: "x" }),
      ...(chosen ? [{ x: [chosen.x * 1e3], y: [chosen.y * factor], mode: "markers", marker: { size: 17, color: "rgba(0,0,0,0)", line: { color: "#CC79A7", width: 2.5 } }, hoverinfo: "skip", name: "chosen", showlegend: false }] : []),
      { x: found.residual_x.map((v) => v * 1e3), y: found.residual.map((v) => v * factor), xaxis: "x2", yaxis: "y2", mode: "markers", marker: { size: 8, color: "#0f6b66" }, name: "residuals", showlegend: false, hovertemplate: "%{x:.4g} µM, %{y:.3g}<extra></extra>" },
    ];
    const axis = { zeroline: false, title: { text: "Concentration / µM", standoff: 8 } };
    const layout = {
      margin: { l: 70, r: 20, t: 40, b: 50 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: "#1d2733", size: 13 }, dragmode: false, hovermode: "closest", legend: { orientation: "h", y: 1.16, x: 0, font: { size: 11 } },
      xaxis: { ...axis, domain: [0, 0.56] }, yaxis: { title: { text: `Current / ${unit}` }, zerolinecolor: "#d5dad6" },
      xaxis2: { ...axis, domain: [0.68, 1], anchor: "y2" }, yaxis2: { title: { text: `Residual / ${unit}` }, zerolinecolor: "#8a94a0", anchor: "x2" },
    };
    // @ts-expect-error plotly is loaded as a classic script
    window.Plotly.react(chart, traces, layout, { displayModeBar: false, responsive: true }).then(() => this.listen(chart));
    const told = this.querySelector("[data-told]");
    const out = found.points.filter((point) => point.why).length;
    if (told) told.textContent = `${found.points.length - out} points${out ? `, ${out} left out` : ""}; beside them, how far each point of the line lies from it.`;
  }

  /** @param {Element} chart */
  listen(chart) {
    if (this.listening) return;
    this.listening = true;
    // @ts-expect-error plotly puts its own listening on the element
    chart.on("plotly_click", (/** @type {{points: {customdata?: number}[]}} */ event) => {
      const i = event.points.find((point) => point.customdata !== undefined)?.customdata;
      const select = this.chosen("#point-level");
      if (i === undefined || !select) return;
      select.value = String(i);
      this.draw();
      const why = this.querySelector("#point-why");
      if (why instanceof HTMLInputElement) why.focus();
    });
  }

  /** @param {Rejected} one */
  out(one) {
    const item = document.createElement("li");
    item.dataset.lay = JSON.stringify([one.electrode, one.file, one.written]);
    const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "Put it back" });
    button.addEventListener("click", async () => {
      const answer = await ask("/decide/without", { without: [{ kind: "reject point", electrode: one.electrode, file: one.file, concentration: one.written }] });
      document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
      say("The point is back.");
    });
    item.append(`${one.electrode}, ${shown(one.concentration * 1e3)} µM, ${one.file}: ${one.why} `, button);
    return item;
  }

  async reject() {
    const line = this.line;
    const point = this.found?.points[Number(this.chosen("#point-level")?.value || 0)];
    const field = this.querySelector("#point-why");
    const why = field instanceof HTMLInputElement ? field.value.trim() : "";
    if (!line || !point) return;
    if (point.why) { say("This point is left out already."); return; }
    if (why.length < 3) { say("Give the reason: it stands in the report."); return; }
    await decide([{ kind: "reject point", electrode: line.electrode, file: point.file, concentration: asText(point.x), why }], [], "The point is left out.");
    if (field instanceof HTMLInputElement) field.value = "";
  }
}
customElements.define("point-rejector", PointRejector);
