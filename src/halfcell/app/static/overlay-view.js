// @ts-check
/** Any voltammograms over each other, chosen by group, solution, scan rate and cycle. */

/** @typedef {{number: number, file: string, electrode: string, group: string, solution: string, rate: string}} Entry */
/** @typedef {{records: Entry[], colours: Record<string, string>}} Start */

const LINES = ["solid", "dash", "dot", "dashdot"];
const MOST = 24;

class OverlayView extends HTMLElement {
  /** @type {Start | undefined} */
  start = undefined;
  /** Curves fetched already. @type {Map<string, {x: number[], y: number[]}>} */
  known = new Map();

  connectedCallback() {
    if (this.start) return;
    this.fill();
    const cycle = document.createElement("label");
    cycle.className = "choice";
    const number = Object.assign(document.createElement("input"), { type: "number", min: "0", value: "2", size: 3 });
    number.dataset.cycle = "";
    cycle.append("Cycle (0: all)", number);
    this.querySelector(".filters")?.append(cycle);
    this.addEventListener("change", () => this.draw());
    this.addEventListener("renewed", () => { if (this.dataset.start !== this.shown) { this.fill(); this.draw(); } });
    this.draw();
  }

  /** The records to choose from are those of the study now; what a person ticked stays as it is. */
  fill() {
    this.shown = this.dataset.start;
    /** @type {Start} */
    const start = JSON.parse(this.shown || '{"records":[],"colours":{}}');
    this.start = start;
    this.known = new Map();
    const before = new Map([...this.querySelectorAll("input[data-filter]")].flatMap((box) => (box instanceof HTMLInputElement ? [[`${box.dataset.filter} ${box.value}`, box.checked]] : [])));
    const sets = /** @type {["group"|"solution"|"rate", string][]} */ ([["group", "Group"], ["solution", "Solution"], ["rate", "Scan rate"]]).map(([name, words]) => {
      const values = [...new Set(start.records.map((record) => record[name]))];
      const set = document.createElement("fieldset");
      set.append(Object.assign(document.createElement("legend"), { textContent: words }));
      values.forEach((value, i) => {
        const label = document.createElement("label");
        label.className = "choice";
        const box = Object.assign(document.createElement("input"), { type: "checkbox", value });
        box.dataset.filter = name;
        box.checked = before.get(`${name} ${value}`) ?? (name === "group" || (name === "rate" ? value.startsWith("50 ") || values.length === 1 : i < 2));
        label.append(box, value);
        set.append(label);
      });
      return set;
    });
    this.querySelectorAll(".filters fieldset").forEach((set) => set.remove());
    this.querySelector(".filters")?.prepend(...sets);
  }

  /** @param {string} name */
  chosen(name) {
    return new Set([...this.querySelectorAll(`input[data-filter="${name}"]`)].flatMap((box) => (box instanceof HTMLInputElement && box.checked ? [box.value] : [])));
  }

  async draw() {
    if (!this.start) return;
    const turn = (this.turn = (this.turn || 0) + 1);
    const [groups, solutions, rates] = ["group", "solution", "rate"].map((name) => this.chosen(name));
    const wanted = this.start.records.filter((r) => groups?.has(r.group) && solutions?.has(r.solution) && rates?.has(r.rate));
    const field = this.querySelector("[data-cycle]");
    const cycle = field instanceof HTMLInputElement ? Math.max(0, field.valueAsNumber || 0) : 0;
    const shown = spread(wanted);
    const count = this.querySelector("[data-count]");
    if (count) count.textContent = wanted.length > MOST ? `${MOST} of the ${wanted.length} chosen records are drawn, of every group alike; choose fewer to see the rest.` : `${shown.length} records.`;
    const curves = await Promise.all(shown.map((record) => this.fetched(record, cycle)));
    if (turn !== this.turn) return;
    const names = [...(solutions || [])];
    const traces = shown.flatMap((record, i) => {
      const curve = curves[i];
      if (!curve) return [];
      const line = { color: this.start?.colours[record.group] || "#1d2733", width: 1.3, dash: LINES[names.indexOf(record.solution) % LINES.length] };
      return [{ x: curve.x, y: curve.y.map((v) => v * 1e6), mode: "lines", name: `${record.electrode}, ${record.solution}, ${record.rate}`, line }];
    });
    // @ts-expect-error plotly is loaded as a classic script
    window.Plotly.react(this.querySelector(".chart"), traces, layoutOf("Current / µA"), { displaylogo: false, responsive: true });
  }

  /** @param {Entry} record @param {number} cycle @returns {Promise<{x: number[], y: number[]} | null>} */
  async fetched(record, cycle) {
    const { known } = this;
    const key = `${record.number} ${cycle}`;
    const before = known.get(key);
    if (before) return before;
    const where = `/responds/curve?number=${record.number}&file=${encodeURIComponent(record.file)}`;
    let response = await fetch(`${where}&cycle=${cycle}`);
    if (!response.ok && cycle) response = await fetch(`${where}&cycle=0`);
    if (!response.ok) return null;
    const curve = await response.json();
    known.set(key, curve);
    return curve;
  }
}

/** At most so many as can be told apart, of every group alike. @param {Entry[]} wanted */
function spread(wanted) {
  if (wanted.length <= MOST) return wanted;
  /** @type {Map<string, string[]>} */
  const electrodes = new Map();
  for (const record of wanted) {
    const names = electrodes.get(record.group) || [];
    if (!names.includes(record.electrode)) names.push(record.electrode);
    electrodes.set(record.group, names);
  }
  /** The turn of an electrode in its group. @param {Entry} record */
  const turn = (record) => (electrodes.get(record.group) || []).indexOf(record.electrode);
  const chosen = new Set([...wanted].sort((p, q) => turn(p) - turn(q)).slice(0, MOST));
  return wanted.filter((record) => chosen.has(record));
}

/** @param {string} y */
export function layoutOf(y) {
  return {
    margin: { l: 70, r: 20, t: 15, b: 50 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", font: { color: "#1d2733", size: 13 }, uirevision: "kept",
    xaxis: { title: { text: "Potential / V", standoff: 8 }, zeroline: false }, yaxis: { title: { text: y }, zerolinecolor: "#d5dad6" }, legend: { font: { size: 11 } }, showlegend: true,
  };
}
customElements.define("overlay-view", OverlayView);
