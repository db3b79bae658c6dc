// @ts-check
/** The ends of a baseline's windows under the hand: the server finds the peak, this draws it. */
import { handUp, lay } from "/static/hand.js";
import { decide } from "/static/decide.js";
import { layoutOf } from "/static/overlay-view.js";
import { showClashes } from "/static/clash.js";
import { ask, Refused, renew, say } from "/static/page.js";

/** @typedef {{file: string, title: string, group: string, condition: string, direction: number, kept: string}} Entry */
/** @typedef {{sequence: number, x: number[], y: number[], baseline: number[], windows: number[][], at: number, height: number, kind: string, numbers: Record<string, string>}} Shown */

/** To 0.1 mV: what is tried is what is kept. @param {number} volts */
const rounded = (volts) => Math.round(volts * 1e4) / 1e4;
/** @param {number} volts */
const asText = (volts) => `${rounded(volts)} V`;

class BaselineEditor extends HTMLElement {
  /** What the page shows, in the server's words. */
  answer = "";
  /** The baselines by hand when one was taken in hand here, by file. @type {Record<string, string> | undefined} */
  known = undefined;
  /** Files whose baseline in the folder a person chose over the one in hand. @type {Set<string>} */
  spared = new Set();

  connectedCallback() {
    if (this.records) return;
    /** @type {Entry[]} */
    const records = JSON.parse(this.dataset.start || '{"records":[]}').records;
    this.records = records;
    /** @type {number[][]} */
    this.windows = [];
    this.sequence = 0;
    this.busy = false;
    this.again = false;
    this.freshly = false;
    const select = this.querySelector("select");
    if (!select) return;
    records.forEach((record, i) => select.append(new Option(record.title + (record.kept ? " (by hand)" : ""), String(i))));
    select.addEventListener("change", () => this.leave());
    this.querySelector("[data-keep-it]")?.addEventListener("click", () => this.keep());
    this.querySelector("[data-auto]")?.addEventListener("click", () => this.automatic());
    window.addEventListener("resize", () => this.place());
    this.addEventListener("renewed", () => this.renewed());
    document.addEventListener("server-back", () => this.attempt());
    document.addEventListener("decided", (event) => this.decided(/** @type {CustomEvent} */ (event).detail.baselines));
    this.open();
  }

  /** This window changed something: what it knows of the baselines by hand is what stands now. @param {Record<string, string> | undefined} baselines */
  decided(baselines) {
    if (!baselines) return;
    for (const record of this.records || []) record.kept = baselines[record.file] || "";
    if (this.known) this.known = Object.fromEntries((this.records || []).map((record) => [record.file, record.kept]));
  }

  /** The study changed: the records are those of now; an unsaved baseline stays under the hand. */
  renewed() {
    const file = this.record?.file;
    /** @type {Entry[]} */
    const records = JSON.parse(this.dataset.start || '{"records":[]}').records;
    this.records = records;
    const select = this.querySelector("select");
    if (!select) return;
    lay(select, ...records.map((record, i) => new Option(record.title + (record.kept ? " (by hand)" : ""), String(i))));
    select.value = String(Math.max(0, records.findIndex((record) => record.file === file)));
    if (this.dataset.keep === undefined) this.open();
  }

  get record() {
    const select = this.querySelector("select");
    return (this.records || [])[Number(select?.value || 0)];
  }

  async open() {
    const record = this.record;
    // The handles stay usable when the same record is looked at anew, also while the server does not answer.
    if (record?.file !== this.shownFile) this.windows = [];
    this.button(false);
    const alike = this.querySelector("[data-alike]");
    if (alike && record) alike.textContent = String(this.similar(record).length);
    await this.attempt(true);
  }

  /** @param {Entry} record */
  similar(record) { return (this.records || []).filter((r) => r.file !== record.file && r.group === record.group && r.direction === record.direction && r.condition === record.condition); }

  /** One question under way; the newest windows are asked next. @param {boolean} [fresh] */
  async attempt(fresh = false) {
    const record = this.record;
    if (!record) return;
    if (this.busy) { this.again = true; this.freshly ||= fresh; return; }
    this.busy = true;
    this.sequence = (this.sequence || 0) + 1;
    const windows = fresh || !this.windows?.length ? null : this.windows.map((w) => w.map(asText));
    try {
      /** @type {Shown} */
      const shown = await ask("/responds/try", { file: record.file, direction: record.direction, windows, sequence: this.sequence });
      if (fresh) await handUp(); // handles that are pressed stay in the hand
      if (shown.sequence === this.sequence) this.show(shown, fresh);
    } catch { /* the words were shown */ }
    this.busy = false;
    if (!this.again) return;
    const anew = this.freshly && this.dataset.keep === undefined;
    this.again = this.freshly = false;
    this.attempt(anew);
  }

  /** @param {Shown} shown @param {boolean} fresh */
  show(shown, fresh) {
    if (fresh && this.dataset.keep === undefined) {
      this.shownFile = this.record?.file;
      const [low, high] = [Math.min(...shown.x), Math.max(...shown.x)];
      const usable = shown.windows.filter((w) => w.length === 2 && Math.abs((w[1] ?? 0) - (w[0] ?? 0)) > 0);
      this.windows = usable.length ? usable.map((w) => w.map(rounded).sort((p, q) => p - q)) : [[rounded(low + 0.05 * (high - low)), rounded(low + 0.2 * (high - low))]];
      this.fields();
    }
    this.dataset.shown = String(shown.sequence);
    // A chart that would come out the same is not drawn again: the page may stay open all day.
    const answer = JSON.stringify({ ...shown, sequence: 0 });
    if (answer === this.answer) return;
    this.answer = answer;
    const base = at(shown.x, shown.baseline, shown.at);
    const traces = [
      { x: shown.x, y: shown.y.map((v) => v * 1e6), mode: "lines", name: "less the blank", line: { color: "#0f6b66", width: 1.6 } },
      { x: shown.x, y: shown.baseline.map((v) => v * 1e6), mode: "lines", name: "baseline", line: { color: "#8a94a0", width: 1.4, dash: "dash" } },
      { x: [shown.at, shown.at], y: [base * 1e6, (base + shown.height) * 1e6], mode: "lines+markers", name: "peak", line: { color: "#D55E00", width: 2 } },
    ];
    const chart = this.querySelector(".chart");
    // @ts-expect-error plotly is loaded as a classic script
    window.Plotly.react(chart, traces, { ...layoutOf("Current / µA"), dragmode: false }, { displayModeBar: false, responsive: true }).then(() => this.place());
    this.querySelector(".told")?.replaceChildren(...Object.entries(shown.numbers).flatMap(([name, value]) => [
      Object.assign(document.createElement("dt"), { textContent: name }), Object.assign(document.createElement("dd"), { textContent: value }),
    ]));
  }

  fields() {
    const ends = this.querySelector(".ends");
    const handles = this.querySelector(".handles");
    if (!ends || !handles) return;
    /** @type {HTMLElement[]} */
    const labels = [];
    /** @type {HTMLElement[]} */
    const marks = [];
    (this.windows || []).forEach((window_, i) => window_.forEach((value, j) => {
      const name = `Window ${i + 1}, ${j ? "end" : "start"}`;
      const label = document.createElement("label");
      const field = Object.assign(document.createElement("input"), { type: "number", step: "0.001", defaultValue: String(value) });
      field.dataset.end = `${i} ${j}`;
      field.addEventListener("input", () => { if (Number.isFinite(field.valueAsNumber)) this.move(i, j, field.valueAsNumber, true); });
      label.append(`${name} / V`, field);
      label.dataset.lay = `${i} ${j}`;
      labels.push(label);
      const handle = document.createElement("div");
      handle.className = "handle";
      handle.tabIndex = 0;
      handle.setAttribute("role", "slider");
      handle.setAttribute("aria-label", `${name}, V`);
      handle.dataset.handle = handle.dataset.lay = `${i} ${j}`;
      handle.addEventListener("pointerdown", (event) => this.drag(event, handle, i, j));
      handle.addEventListener("keydown", (event) => {
        const step = { ArrowLeft: -0.002, ArrowRight: 0.002, PageDown: -0.02, PageUp: 0.02 }[event.key];
        if (step === undefined) return;
        event.preventDefault();
        this.move(i, j, (this.windows?.[i]?.[j] ?? 0) + step);
      });
      marks.push(handle);
    }));
    lay(ends, ...labels);
    lay(handles, ...marks);
    this.place();
  }

  axis() {
    const chart = this.querySelector(".chart");
    // @ts-expect-error plotly keeps its layout on the element
    return chart?._fullLayout?.xaxis;
  }

  /** Put the handles over the chart. */
  place() {
    const axis = this.axis();
    if (!axis) return;
    for (const handle of this.querySelectorAll("[data-handle]")) {
      if (!(handle instanceof HTMLElement)) continue;
      const [i = 0, j = 0] = (handle.dataset.handle || "").split(" ").map(Number);
      const value = this.windows?.[i]?.[j] ?? 0;
      handle.style.left = `${axis._offset + axis.l2p(value)}px`;
      const [a, b] = [Math.min(...axis.range), Math.max(...axis.range)];
      handle.setAttribute("aria-valuemin", a.toFixed(3));
      handle.setAttribute("aria-valuemax", b.toFixed(3));
      handle.setAttribute("aria-valuenow", value.toFixed(4));
    }
  }

  /** @param {PointerEvent} event @param {HTMLElement} handle @param {number} i @param {number} j */
  drag(event, handle, i, j) {
    event.preventDefault();
    handle.focus();
    handle.setPointerCapture(event.pointerId);
    const box = this.querySelector(".chart-box")?.getBoundingClientRect();
    const axis = this.axis();
    if (!box || !axis) return;
    /** @param {PointerEvent} moved */
    const follow = (moved) => this.move(i, j, axis.p2l(moved.clientX - box.left - axis._offset));
    const end = () => { handle.removeEventListener("pointermove", follow); handle.removeEventListener("pointerup", end); handle.removeEventListener("pointercancel", end); };
    handle.addEventListener("pointermove", follow);
    handle.addEventListener("pointerup", end);
    handle.addEventListener("pointercancel", end);
  }

  /** @param {number} i @param {number} j @param {number} value @param {boolean} [typed] */
  move(i, j, value, typed = false) {
    const axis = this.axis();
    const [a, b] = axis ? [Math.min(...axis.range), Math.max(...axis.range)] : [-Infinity, Infinity];
    const window_ = this.windows?.[i];
    if (!window_) return;
    window_[j] = rounded(Math.min(b, Math.max(a, value)));
    const field = this.querySelector(`[data-end="${i} ${j}"]`);
    if (!typed && field instanceof HTMLInputElement) field.value = String(window_[j]);
    this.known ??= Object.fromEntries((this.records || []).map((record) => [record.file, record.kept]));
    this.dataset.keep = "";
    this.button(true);
    this.place();
    this.attempt();
  }

  /** @param {boolean} on */
  button(on) {
    const button = this.querySelector("[data-keep-it]");
    if (button instanceof HTMLButtonElement) button.disabled = !on;
  }

  targets() {
    const record = this.record;
    const box = this.querySelector("[data-similar]");
    if (!record) return [];
    const all = box instanceof HTMLInputElement && box.checked ? [record, ...this.similar(record)] : [record];
    return all.filter((one) => !this.spared.has(one.file));
  }

  async keep() {
    const windows = (this.windows || []).map((w) => [...w].sort((p, q) => p - q).map(asText));
    const files = this.targets().map((r) => r.file);
    try {
      await decide(files.map((file) => ({ kind: "baseline window", file, windows })), files.map((file) => ({ kind: "baseline window", file })), `Baseline kept for ${files.length} record${files.length > 1 ? "s" : ""}.`, this.known);
      this.settled();
    } catch (error) { // the words were shown; the windows stay in hand
      if (error instanceof Refused && error.clashes.length) this.clashed(error.clashes);
    }
  }

  /** Others kept another baseline meanwhile. @param {import("/static/clash.js").Clash[]} clashes */
  clashed(clashes) {
    for (const clash of clashes) {
      if (this.known) this.known[clash.at] = clash.now;
      for (const record of this.records || []) if (record.file === clash.at) record.kept = clash.now;
    }
    showClashes(this, clashes, (clash, mine) => {
      if (mine) return;
      this.spared.add(clash.at);
      if (!this.targets().length) this.leave();
    });
  }

  async automatic() {
    const files = this.targets().filter((r) => r.kept).map((r) => r.file);
    if (files.length) {
      try {
        document.dispatchEvent(new CustomEvent("decided", { detail: await ask("/decide/without", { without: files.map((file) => ({ kind: "baseline window", file })) }) }));
      } catch { return; }
    } else say("The baseline is the automatic one.");
    this.settled();
    await this.open();
  }

  /** Let go of what is in hand; the page then follows what it held back. */
  leave() {
    const held = this.dataset.keep !== undefined;
    this.settled();
    this.open();
    if (held) renew();
  }

  /** Nothing is in hand any more. */
  settled() {
    this.known = undefined;
    this.spared.clear();
    showClashes(this, [], () => {});
    delete this.dataset.keep;
    this.button(false);
  }
}

/** @param {number[]} x @param {number[]} y @param {number} where */
function at(x, y, where) {
  let best = 0;
  for (let i = 1; i < x.length; i++) if (Math.abs((x[i] ?? 0) - where) < Math.abs((x[best] ?? 0) - where)) best = i;
  return y[best] ?? 0;
}
customElements.define("baseline-editor", BaselineEditor);
