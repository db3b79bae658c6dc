// @ts-check
/** A current–time record with its additions: move, add, remove. */
import { decide } from "/static/decide.js";
import { handUp, lay } from "/static/hand.js";
import { make } from "/static/make.js";
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
    const box = this.querySelector(".handles"), ends = this.querySelector(".ends");
    box?.addEventListener("pointerdown", (event) => { if (event instanceof PointerEvent && event.target instanceof HTMLElement && event.target.dataset.from) this.drag(event, event.target); });
    box?.addEventListener("keydown", (event) => { if (event instanceof KeyboardEvent && event.target instanceof HTMLElement && event.target.dataset.from) this.key(event, event.target); });
    ends?.addEventListener("change", (event) => { if (event.target instanceof HTMLInputElement) this.move(Number(event.target.dataset.from), event.target.valueAsNumber); });
    ends?.addEventListener("click", (event) => { if (event.target instanceof HTMLButtonElement) this.takeOut(Number(event.target.dataset.from)); });
    this.open();
  }

  get file() { return this.querySelector("select")?.value || ""; }

  fill() {
    const select = this.querySelector("select");
    if (!select) return;
    const before = select.value;
    /** @type {{records: {file: string, title: string}[]}} */
    const start = JSON.parse(this.dataset.start || '{"records":[]}');
    lay(select, ...start.records.map((record) => new Option(record.title, record.file)));
    if (start.records.some((record) => record.file === before)) select.value = before;
  }

  async open() {
    const file = this.file;
    const turn = this.turn = (this.turn || 0) + 1;
    const response = await fetch(`/quantifies/additions?file=${encodeURIComponent(file)}`);
    if (!response.ok || file !== this.file) return;
    const answer = await response.text();
    await handUp(); // a handle that is being dragged stays in the hand
    if (turn !== this.turn || file !== this.file || answer === this.answer) return; // drawn already: the page may stay open all day
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

  async handles() {
    await handUp();
    const box = this.querySelector(".handles"), ends = this.querySelector(".ends"), now = document.activeElement;
    if (!box || !ends || !this.shown) return;
    const places = /** @type {[Element, string][]} */ ([[box, "div"], [ends, "input"], [ends, "button"]]);
    const focused = places.map(([place, kind]) => [...place.querySelectorAll(kind)].findIndex((one) => one === now));
    // A handle that was moved by key and is not set yet stays where it is.
    const moved = now instanceof HTMLElement && box.contains(now) && now.dataset.time !== now.dataset.from ? now.dataset.time : undefined;
    lay(box, ...this.shown.additions.map((time, i) => make("div", { className: "handle", tabIndex: 0, role: "slider", "aria-label": `Addition ${i + 1}, s`, "data-lay": rounded(time), "data-from": time, "data-time": time })));
    lay(ends, ...this.shown.additions.map((time, i) => make("div", { "data-lay": rounded(time) }, [
      make("label", {}, [`Addition ${i + 1} / s`, make("input", { type: "number", step: "any", defaultValue: String(rounded(time)), "data-from": time })]),
      make("button", { type: "button", className: "quiet small", textContent: "Remove", "aria-label": `Remove addition ${i + 1}`, "data-from": time })])));
    if (moved !== undefined && now instanceof HTMLElement && now.isConnected) now.dataset.time = moved;
    // Where an addition was moved, the focus goes with it.
    if (!now?.isConnected) places.forEach(([place, kind], k) => { const to = [...place.querySelectorAll(kind)][focused[k] ?? -1]; if (to instanceof HTMLElement) to.focus({ preventScroll: true }); });
    this.place();
  }

  /** @param {KeyboardEvent} event @param {HTMLElement} handle */
  key(event, handle) {
    const time = Number(handle.dataset.from), step = { ArrowLeft: -0.5, ArrowRight: 0.5, PageDown: -5, PageUp: 5 }[event.key];
    if (event.key === "Delete") this.takeOut(time);
    if (event.key === "Enter") this.move(time, Number(handle.dataset.time));
    if (step === undefined) return;
    event.preventDefault();
    this.answer = "";
    handle.dataset.time = String(Number(handle.dataset.time) + step);
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

  /** @param {PointerEvent} event @param {HTMLElement} handle */
  drag(event, handle) {
    const time = Number(handle.dataset.from);
    event.preventDefault();
    handle.focus();
    handle.setPointerCapture(event.pointerId);
    const box = this.querySelector(".chart-box")?.getBoundingClientRect();
    const axis = this.axis();
    if (!box || !axis) return;
    let moved = false;
    /** @param {PointerEvent} at */
    const follow = (at) => { moved = true; handle.dataset.time = String(axis.p2l(at.clientX - box.left - axis._offset)); this.place(); };
    /** @param {Event} ended */
    const end = (ended) => {
      handle.removeEventListener("pointermove", follow);
      handle.removeEventListener("pointerup", end);
      handle.removeEventListener("pointercancel", end);
      if (moved && ended.type === "pointerup") this.move(time, Number(handle.dataset.time));
    };
    handle.addEventListener("pointermove", follow);
    handle.addEventListener("pointerup", end);
    handle.addEventListener("pointercancel", end);
  }

  /** @param {number} time @param {number} to */
  async move(time, to) {
    this.answer = ""; // what is on the page is not what was answered
    if (!Number.isFinite(to) || Math.abs(to - time) < 0.005) return;
    const first = this.shown?.decided.find((d) => d.kind === "move step" && d.to !== null && Math.abs(d.to - time) < 0.01);
    const added = this.shown?.decided.find((d) => d.kind === "add step" && Math.abs(d.time - time) < 0.01);
    const replaces = first ? [{ kind: "move step", file: this.file, time: `${first.time} s` }] : added ? [{ kind: "add step", file: this.file, time: `${added.time} s` }] : [];
    const decision = added ? { kind: "add step", file: this.file, time: `${rounded(to)} s` } : { kind: "move step", file: this.file, time: `${first ? first.time : rounded(time)} s`, to: `${rounded(to)} s` };
    await decide([decision], replaces, "The addition is moved.").catch(() => { for (const handle of this.querySelectorAll(".handle")) if (handle instanceof HTMLElement) handle.dataset.time = handle.dataset.from; this.open(); });
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
