// @ts-check
/** A current–time record with its additions: move, add, remove. */
import { decide } from "/static/decide.js";
import { scaled } from "/static/trace-view.js";

/** @typedef {{time: number[], current: number[], additions: number[], unlogged: number[], plateau_start: number[], plateau_end: number[], plateau: number[], levels: number[], decided: {kind: string, time: number, to: number|null}[]}} Shown */

/** To 10 ms. @param {number} seconds */
const rounded = (seconds) => Math.round(seconds * 100) / 100;

class StepEditor extends HTMLElement {
  /** What the page shows, in the server's words. */
  answer = "";

  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    this.fill();
    this.querySelector("select")?.addEventListener("change", () => this.open());
    this.querySelector("[data-add]")?.addEventListener("click", () => this.add());
    this.addEventListener("renewed", () => { this.fill(); this.open(); });
    window.addEventListener("resize", () => this.place());
    this.open();
  }

  get file() { return this.querySelector("select")?.value || ""; }

  fill() {
    const select = this.querySelector("select");
    if (!select) return;
    const before = select.value;
    /** @type {{records: {file: string, title: string}[]}} */
    const start = JSON.parse(this.dataset.start || '{"records":[]}');
    select.replaceChildren(...start.records.map((record) => new Option(record.title, record.file)));
    if (start.records.some((record) => record.file === before)) select.value = before;
  }

  async open() {
    const file = this.file;
    const response = await fetch(`/quantifies/additions?file=${encodeURIComponent(file)}`);
    if (!response.ok || file !== this.file) return;
    const answer = await response.text();
    if (file !== this.file || answer === this.answer) return; // drawn already: the page may stay open all day
    this.answer = answer;
    /** @type {Shown} */
    const shown = JSON.parse(answer);
    this.shown = shown;
    const current = scaled(Float32Array.from(shown.current));
    const plateaus = shown.plateau.map((value, i) => ({ x: [shown.plateau_start[i], shown.plateau_end[i]], y: [value * current.factor, value * current.factor], mode: "lines", line: { color: "#D55E00", width: 3 }, hoverinfo: "y", showlegend: false }));
    const layout = {
      margin: { l: 70, r: 20, t: 15, b: 50 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: "#1d2733", size: 13 }, showlegend: false, dragmode: false, uirevision: file,
      xaxis: { title: { text: "Time / s", standoff: 8 }, zeroline: false }, yaxis: { title: { text: `Current / ${current.unit}` }, zerolinecolor: "#d5dad6" },
    };
    // @ts-expect-error plotly is loaded as a classic script
    window.Plotly.react(this.querySelector(".chart"), [{ x: shown.time, y: current.y, mode: "lines", line: { color: "#0f6b66", width: 1.2 } }, ...plateaus], layout, { displayModeBar: false, responsive: true }).then(() => this.handles());
    const told = this.querySelector("[data-told]");
    if (told) told.textContent = `${shown.additions.length} additions${shown.decided.length ? `, ${shown.decided.length} decisions by hand` : ""}. Orange: the plateaus that are averaged.`;
  }

  handles() {
    const box = this.querySelector(".handles");
    const ends = this.querySelector(".ends");
    if (!box || !ends || !this.shown) return;
    box.replaceChildren();
    ends.replaceChildren();
    this.shown.additions.forEach((time, i) => {
      const handle = document.createElement("div");
      handle.className = "handle";
      handle.tabIndex = 0;
      handle.setAttribute("role", "slider");
      handle.setAttribute("aria-label", `Addition ${i + 1}, s`);
      handle.dataset.time = String(time);
      handle.addEventListener("pointerdown", (event) => this.drag(event, handle, time));
      handle.addEventListener("keydown", (event) => {
        const step = { ArrowLeft: -0.5, ArrowRight: 0.5, PageDown: -5, PageUp: 5 }[event.key];
        if (event.key === "Delete") this.takeOut(time);
        if (event.key === "Enter") this.move(time, Number(handle.dataset.time));
        if (step === undefined) return;
        event.preventDefault();
        this.answer = "";
        handle.dataset.time = String(Number(handle.dataset.time) + step);
        this.place();
      });
      box.append(handle);
      const label = document.createElement("label");
      const field = Object.assign(document.createElement("input"), { type: "number", step: "any", value: String(rounded(time)) });
      field.addEventListener("change", () => this.move(time, field.valueAsNumber));
      const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "Remove" });
      button.setAttribute("aria-label", `Remove addition ${i + 1}`);
      button.addEventListener("click", () => this.takeOut(time));
      label.append(`Addition ${i + 1} / s`, field);
      const cell = document.createElement("div");
      cell.append(label, button);
      ends.append(cell);
    });
    this.place();
  }

  axis() {
    // @ts-expect-error plotly keeps its layout on the element
    return this.querySelector(".chart")?._fullLayout?.xaxis;
  }

  place() {
    const axis = this.axis();
    if (!axis) return;
    for (const handle of this.querySelectorAll(".handle")) {
      if (!(handle instanceof HTMLElement)) continue;
      handle.style.left = `${axis._offset + axis.l2p(Number(handle.dataset.time))}px`;
      handle.setAttribute("aria-valuemin", String(axis.range[0]));
      handle.setAttribute("aria-valuemax", String(axis.range[1]));
      handle.setAttribute("aria-valuenow", String(handle.dataset.time));
    }
  }

  /** @param {PointerEvent} event @param {HTMLElement} handle @param {number} time */
  drag(event, handle, time) {
    event.preventDefault();
    handle.focus();
    handle.setPointerCapture(event.pointerId);
    const box = this.querySelector(".chart-box")?.getBoundingClientRect();
    const axis = this.axis();
    if (!box || !axis) return;
    let moved = false;
    /** @param {PointerEvent} at */
    const follow = (at) => { moved = true; handle.dataset.time = String(axis.p2l(at.clientX - box.left - axis._offset)); this.place(); };
    const end = () => {
      handle.removeEventListener("pointermove", follow);
      handle.removeEventListener("pointerup", end);
      if (moved) this.move(time, Number(handle.dataset.time));
    };
    handle.addEventListener("pointermove", follow);
    handle.addEventListener("pointerup", end);
  }

  /** @param {number} time @param {number} to */
  async move(time, to) {
    this.answer = ""; // what is on the page is not what was answered
    if (!Number.isFinite(to) || Math.abs(to - time) < 0.005) return;
    const first = this.shown?.decided.find((d) => d.kind === "move step" && d.to !== null && Math.abs(d.to - time) < 0.01);
    const added = this.shown?.decided.find((d) => d.kind === "add step" && Math.abs(d.time - time) < 0.01);
    const replaces = first ? [{ kind: "move step", file: this.file, time: `${first.time} s` }] : added ? [{ kind: "add step", file: this.file, time: `${added.time} s` }] : [];
    const decision = added ? { kind: "add step", file: this.file, time: `${rounded(to)} s` } : { kind: "move step", file: this.file, time: `${first ? first.time : rounded(time)} s`, to: `${rounded(to)} s` };
    await decide([decision], replaces, "The addition is moved.").catch(() => this.open());
  }

  /** @param {number} time */
  async takeOut(time) { await decide([{ kind: "remove step", file: this.file, time: `${rounded(time)} s` }], [], "The addition is removed.").catch(() => this.open()); }

  async add() {
    const field = this.querySelector("#step-add");
    if (!(field instanceof HTMLInputElement) || !Number.isFinite(field.valueAsNumber)) return;
    await decide([{ kind: "add step", file: this.file, time: `${rounded(field.valueAsNumber)} s` }], [], "The addition is added.");
    field.value = "";
  }
}
customElements.define("step-editor", StepEditor);
