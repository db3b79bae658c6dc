// @ts-check
/** A record's trace: all of it thinned, refetched in full where the person zooms in. */

/** @typedef {{x: Float64Array, y: Float32Array, index: Uint32Array, label: string, unit: string, samples: number}} Trace */

/** @param {number} record @param {number} start @param {number} end @returns {Promise<Trace>} */
export async function fetchTrace(record, start = 0, end = 0) {
  const response = await fetch(`/record/${record}/trace?start=${start}&end=${end}`);
  if (!response.ok) throw new Error((await response.json()).problem);
  const n = Number(response.headers.get("x-count"));
  const data = await response.arrayBuffer();
  return {
    x: new Float64Array(data, 0, n), y: new Float32Array(data, 8 * n, n), index: new Uint32Array(data, 12 * n, n),
    label: response.headers.get("x-label") || "", unit: response.headers.get("x-unit") || "", samples: Number(response.headers.get("x-samples")),
  };
}

/** Current in the prefix that suits it. @param {Float32Array} y */
export function scaled(y) {
  let largest = 0;
  for (const v of y) if (Math.abs(v) > largest) largest = Math.abs(v);
  const [factor, unit] = largest >= 1e-3 ? [1e3, "mA"] : largest >= 1e-6 ? [1e6, "µA"] : largest >= 1e-9 ? [1e9, "nA"] : [1e12, "pA"];
  return { y: Array.from(y, (v) => v * Number(factor)), unit: String(unit), factor: Number(factor) };
}

/** @typedef {{record: number, marks: {from: number, to: number, what: string}[], mark: string}} Start */

class TraceView extends HTMLElement {
  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    this.setAttribute("role", "group");
    this.setAttribute("aria-label", "Trace of the record");
    // What a person zoomed into stays while the study changes elsewhere.
    this.addEventListener("renewed", () => { if (this.dataset.start !== this.shown) this.look(); });
    this.look();
  }

  get start() {
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || '{"record":0,"marks":[],"mark":""}');
    return start;
  }

  async look() {
    this.shown = this.dataset.start;
    const { shown } = this;
    try {
      const trace = await fetchTrace(this.start.record);
      if (this.isConnected && shown === this.shown) this.draw(trace);
    } catch (error) {
      this.letGo();
      this.textContent = String(error instanceof Error ? error.message : error);
    }
  }

  /** The chart listens to the window and holds this element until it is told to let go; a page laid anew only moves it. */
  disconnectedCallback() {
    setTimeout(() => { if (!this.isConnected) this.letGo(); });
  }

  letGo() {
    clearTimeout(this.waiting);
    // @ts-expect-error plotly is loaded as a classic script
    if (this.whole) window.Plotly.purge(this);
    this.whole = undefined;
  }

  /** The samples a number rests on, shaded; a stretch of no length is a line. */
  shades() {
    return this.start.marks.map((mark) => mark.from === mark.to
      ? { type: "line", x0: mark.from, x1: mark.from, yref: "paper", y0: 0, y1: 1, line: { color: "#D55E00", width: 1.5, dash: "dot" } }
      : { type: "rect", x0: mark.from, x1: mark.to, yref: "paper", y0: 0, y1: 1, fillcolor: "#E69F00", opacity: 0.22, line: { width: 0 }, layer: "below" });
  }

  /** @param {Trace} trace */
  draw(trace) {
    this.letGo();
    this.replaceChildren();
    // @ts-expect-error plotly is loaded as a classic script
    const Plotly = window.Plotly;
    const current = scaled(trace.y);
    const over = trace.label === "potential" ? "Potential / V" : trace.unit ? `${trace.label} / ${trace.unit}` : trace.label;
    const layout = {
      margin: { l: 70, r: 20, t: 20, b: 62 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: "#1d2733", size: 13 },
      shapes: this.shades(),
      xaxis: { title: { text: over, standoff: 8 }, zeroline: false }, yaxis: { title: { text: `Current / ${current.unit}` }, zeroline: true, zerolinecolor: "#d5dad6" }, showlegend: false,
    };
    const line = { x: Array.from(trace.x), y: current.y, mode: "lines", line: { color: "#0f6b66", width: 1.3 }, hoverinfo: "x+y" };
    this.whole = trace;
    this.factor = current.factor;
    this.dataset.points = String(trace.x.length);
    Plotly.newPlot(this, [line], layout, { displaylogo: false, responsive: true, modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"] });
    if (trace.samples <= trace.x.length) return;
    // @ts-expect-error plotly puts its own listening on the element
    this.on("plotly_relayout", () => {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => this.refine(), 80);
    });
  }

  /** Fetch the samples in view anew, so that what is zoomed into is shown in full. */
  async refine() {
    const { whole } = this;
    // @ts-expect-error plotly keeps its layout on the element
    const axis = this._fullLayout?.xaxis;
    if (!whole || !axis) return;
    const turn = (this.turn = (this.turn || 0) + 1);
    const [low, high] = [Math.min(...axis.range), Math.max(...axis.range)];
    let [first, last] = [-1, -1];
    whole.x.forEach((x, i) => { if (x >= low && x <= high) { if (first < 0) first = i; last = i; } });
    if (first < 0) return;
    const start = whole.index[Math.max(0, first - 1)] ?? 0;
    const end = (whole.index[Math.min(whole.x.length - 1, last + 1)] ?? 0) + 1;
    const shown = end - start >= whole.samples ? whole : await fetchTrace(this.start.record, start, end).catch(() => null);
    if (!shown || turn !== this.turn) return;
    const factor = this.factor ?? 1;
    // @ts-expect-error plotly is loaded as a classic script
    await window.Plotly.restyle(this, { x: [Array.from(shown.x)], y: [Array.from(shown.y, (v) => v * factor)] }, [0]);
    this.dataset.samples = `${start} ${end}`;
  }
}
customElements.define("trace-view", TraceView);
