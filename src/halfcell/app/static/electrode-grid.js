// @ts-check
/** The electrodes as a grid that takes typing and pasted blocks. */
import { pastedCells, placeOf, step } from "/static/cells.js";
import { showClashes } from "/static/clash.js";
import { lay } from "/static/hand.js";
import { ask, Refused, renew, say } from "/static/page.js";

/** @typedef {{columns: {key: string, label: string}[], rows: {electrode: string, cells: Record<string, string>}[]}} Start */

class ElectrodeGrid extends HTMLElement {
  /** What stood in the cells before each paste. @type {[HTMLInputElement, string][][]} */
  pastes = [];

  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    // What is typed after a paste is the browser's to take back, not the paste with it.
    this.addEventListener("input", (event) => { this.pastes = []; this.changed(event.target); });
    this.addEventListener("keydown", (event) => this.key(event));
    this.addEventListener("paste", (event) => this.pasted(event));
    this.querySelector("[data-save]")?.addEventListener("click", () => this.save());
    this.querySelector("[data-drop]")?.addEventListener("click", () => { this.fill(); renew(); });
    this.addEventListener("renewed", () => { if (this.dataset.keep === undefined) this.fill(); });
    this.fill();
  }

  fill() {
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || '{"columns":[],"rows":[]}');
    const head = document.createElement("tr");
    head.append(...["electrode", ...start.columns.map((c) => c.label)].map((text) => Object.assign(document.createElement("th"), { textContent: text, scope: "col" })));
    lay(this.querySelector("thead"), head);
    const widths = start.columns.map((c) => Math.min(36, Math.max(7, ...start.rows.map((row) => (row.cells[c.key] ?? "").length + 1))));
    const rows = start.rows.map((row, i) => {
      const line = document.createElement("tr");
      line.dataset.lay = row.electrode;
      line.append(Object.assign(document.createElement("th"), { textContent: row.electrode, scope: "row" }));
      start.columns.forEach((column, j) => {
        const field = Object.assign(document.createElement("input"), { defaultValue: row.cells[column.key] ?? "", title: row.cells[column.key] ?? "" });
        field.style.minWidth = `${(widths[j] ?? 7) + 2}ch`;
        field.setAttribute("aria-label", `${row.electrode}, ${column.label}`);
        Object.assign(field.dataset, { at: `${i} ${j}`, electrode: row.electrode, key: column.key, was: field.value, lay: "field" });
        const cell = document.createElement("td");
        cell.dataset.lay = column.key;
        cell.append(field);
        line.append(cell);
      });
      return line;
    });
    lay(this.querySelector("tbody"), ...rows);
    this.pastes = [];
    showClashes(this, [], () => {});
    this.settle(false);
  }

  /** @param {number} i @param {number} j */
  field(i, j) {
    const field = this.querySelector(`[data-at="${i} ${j}"]`);
    return field instanceof HTMLInputElement ? field : null;
  }

  /** @param {EventTarget | null} target */
  changed(target) {
    if (!(target instanceof HTMLInputElement)) return;
    target.classList.toggle("changed", target.value !== target.dataset.was);
    target.title = target.value;
    this.settle(this.changes().length > 0);
  }

  changes() {
    return [...this.querySelectorAll("input.changed")].flatMap((field) => (field instanceof HTMLInputElement ? [{ electrode: field.dataset.electrode, key: field.dataset.key, value: field.value, was: field.dataset.was }] : []));
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const at = placeOf(event);
    if (!at) return;
    if (event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey) && !event.shiftKey && this.unpasted()) { event.preventDefault(); return; }
    if (!step(event)) return;
    event.preventDefault();
    this.field(at.i + step(event), at.j)?.select();
  }

  /** @param {ClipboardEvent} event */
  pasted(event) {
    const cells = pastedCells(event);
    if (!cells) return;
    let beyond = 0;
    /** @type {[HTMLInputElement, string][]} */
    const before = [];
    for (const { i, j, value } of cells) {
      const field = this.field(i, j);
      if (!field) { beyond += 1; continue; }
      before.push([field, field.value]);
      field.value = value;
      this.changed(field);
    }
    this.pastes.push(before);
    if (beyond) say(`${beyond} pasted cells lie beyond the grid and were left.`);
  }

  /** @param {boolean} on */
  settle(on) {
    if (on) this.dataset.keep = ""; else delete this.dataset.keep;
    for (const button of this.querySelectorAll("[data-save], [data-drop]")) if (button instanceof HTMLButtonElement) button.disabled = !on;
  }

  /** Take the last paste back, while it is in hand and nothing was typed over it. */
  unpasted() {
    const before = this.pastes.pop();
    if (!before) return false;
    for (const [field, value] of before) { field.value = value; this.changed(field); }
    return true;
  }

  async save() {
    const changes = this.changes();
    try { await ask("/made/electrodes", { changes }); } catch (error) {
      if (error instanceof Refused && error.clashes.length) this.clashed(error.clashes);
      return;
    }
    this.pastes = [];
    showClashes(this, [], () => {});
    // What was typed while this was on its way is still in hand.
    for (const { electrode, key, value } of changes) {
      const field = this.fieldOf(`${electrode}\t${key}`);
      if (field) { field.dataset.was = value; field.classList.remove("clashing"); this.changed(field); }
    }
    this.settle(this.changes().length > 0);
    say(`${changes.length} change${changes.length === 1 ? "" : "s"} saved in study.toml.`);
  }

  /** The field of an electrode and a key, as a clash names it. @param {string} at */
  fieldOf(at) {
    const found = [...this.querySelectorAll("input[data-at]")].find((field) => field instanceof HTMLInputElement && `${field.dataset.electrode}\t${field.dataset.key}` === at);
    return found instanceof HTMLInputElement ? found : null;
  }

  /** The grid takes note of what stands in the folder now; what the person typed stays until they choose.
   * @param {import("/static/clash.js").Clash[]} clashes */
  clashed(clashes) {
    for (const clash of clashes) {
      const field = this.fieldOf(clash.at);
      if (field) { field.dataset.was = clash.now; field.classList.add("clashing"); }
    }
    showClashes(this, clashes, (clash, mine) => {
      const field = this.fieldOf(clash.at);
      if (!field) return;
      field.classList.remove("clashing");
      if (!mine) field.value = clash.now;
      this.changed(field);
    });
  }
}
customElements.define("electrode-grid", ElectrodeGrid);
