// @ts-check
/** Leaving a calibration point out, with its reason. */
import { decide } from "/static/decide.js";
import { ask, say } from "/static/page.js";

/** @typedef {{electrode: string, title: string, points: {x: number, y: number, file: string}[]}} Line */
/** @typedef {{electrode: string, file: string, concentration: number, why: string}} Rejected */

/** mol/m³ is mmol/L. @param {number} level */
const asText = (level) => `${Number(level.toPrecision(10))} mmol/L`;

class PointRejector extends HTMLElement {
  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    this.querySelector("form")?.addEventListener("submit", (event) => { event.preventDefault(); this.reject(); });
    this.querySelector("#point-line")?.addEventListener("change", () => this.levels());
    this.addEventListener("renewed", () => this.fill());
    this.fill();
  }

  /** @param {string} id */
  chosen(id) {
    const select = this.querySelector(id);
    return select instanceof HTMLSelectElement ? select : null;
  }

  fill() {
    /** @type {{lines: Line[], rejected: Rejected[]}} */
    const start = JSON.parse(this.dataset.start || '{"lines":[],"rejected":[]}');
    this.lines = start.lines;
    const select = this.chosen("#point-line");
    if (!select) return;
    const before = select.selectedIndex;
    select.replaceChildren(...start.lines.map((line, i) => new Option(line.title, String(i))));
    select.selectedIndex = Math.max(0, Math.min(before, start.lines.length - 1));
    this.levels();
    this.querySelector("[data-out]")?.replaceChildren(...start.rejected.map((one) => this.out(one)));
  }

  levels() {
    const line = this.lines?.[Number(this.chosen("#point-line")?.value || 0)];
    this.chosen("#point-level")?.replaceChildren(...(line?.points || []).map((point, i) => new Option(`${(point.x * 1e3).toPrecision(4)} µM, ${(point.y * 1e6).toPrecision(4).replace("-", "−")} µA`, String(i))));
  }

  /** @param {Rejected} one */
  out(one) {
    const item = document.createElement("li");
    const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "Put it back" });
    button.addEventListener("click", async () => {
      const answer = await ask("/decide/without", { without: [{ kind: "reject point", electrode: one.electrode, file: one.file, concentration: asText(one.concentration) }] });
      document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
      say("The point is back.");
    });
    item.append(`${one.electrode}, ${(one.concentration * 1e3).toPrecision(4)} µM: ${one.why} `, button);
    return item;
  }

  async reject() {
    const line = this.lines?.[Number(this.chosen("#point-line")?.value || 0)];
    const point = line?.points[Number(this.chosen("#point-level")?.value || 0)];
    const field = this.querySelector("#point-why");
    const why = field instanceof HTMLInputElement ? field.value.trim() : "";
    if (!line || !point) return;
    if (why.length < 3) { say("Give the reason: it stands in the report."); return; }
    await decide([{ kind: "reject point", electrode: line.electrode, file: point.file, concentration: asText(point.x), why }], [], "The point is left out.");
    if (field instanceof HTMLInputElement) field.value = "";
  }
}
customElements.define("point-rejector", PointRejector);
