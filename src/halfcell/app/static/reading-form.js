// @ts-check
/** How a file is read, corrected by pointing at its raw lines. */
import { handUp, lay } from "/static/hand.js";
import { make } from "/static/make.js";
import { ask, say } from "/static/page.js";

/** @typedef {{number: number, heading: string, unit: string, role: string, numeric: boolean}} Column */
/** @typedef {{number: number, cells: [string, number][]}} Line */
/** @typedef {{lines: Line[], first: number, columns: Column[], delimiter: string, decimal: string, assumed: string[], samples: number, cycles: number, problem: string, picture: string, x: string, y: string, tried?: number, failing?: string[]}} Look */
/** @typedef {{columns?: Record<string, number | string>, units?: Record<string, string>, delimiter?: string, decimal?: string, skip?: number}} Hints */
/** @typedef {Look & {file: string, hints: Hints, kept: string, siblings: string[], roles: string[], units: Record<string, string[]>}} Start */

/** A unit as it is printed. @param {string} unit */
function pretty(unit) { return unit.replace("^2", "²").replace(/^u(?=[A-Z])/, "µ"); }

class ReadingForm extends HTMLElement {
  connectedCallback() {
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || "{}");
    this.start = start;
    /** @type {Look} */
    const look = start;
    this.look = look;
    this.reset();
    this.addEventListener("click", (event) => this.clicked(event));
    this.addEventListener("change", (event) => this.chosen(event));
    this.addEventListener("keydown", (event) => this.key(event));
    this.draw();
    const box = this.querySelector(".raw"), first = this.place("lines")?.querySelector("tr.first");
    if (box instanceof HTMLElement && first instanceof HTMLElement) box.scrollTop = Math.max(0, first.offsetTop - box.clientHeight / 3);
    const open = look.columns.find((c) => c.numeric && !c.role) || look.columns[0];
    this.point(look.problem && open ? open.number : (look.columns.find((c) => c.role) || open)?.number || 0);
  }

  reset() {
    this.changed = false;
    /** What a person said of the roles; null while nothing was said. @type {Map<number, string> | null} */
    this.said = null;
    /** @type {Map<number, string>} */
    this.units = new Map();
    this.delimiter = this.start?.hints.delimiter || "";
    this.decimal = this.start?.hints.decimal || "";
    this.skip = this.start?.hints.skip ?? null;
    this.column = 0;
    this.turn = 0;
  }

  /** @param {string} name */
  place(name) {
    const place = this.querySelector(`[data-place="${name}"]`);
    return place instanceof HTMLElement ? place : null;
  }

  /** @param {Column} column */
  roleOf(column) { return this.said ? this.said.get(column.number) || "" : column.role; }

  /** @param {Column} column */
  unitOf(column) { return this.units?.get(column.number) ?? column.unit; }

  asked() {
    const { start, look } = this;
    if (!start || !look) return {};
    /** @type {Record<string, number | string>} */
    const columns = this.said ? {} : { ...start.hints.columns };
    /** @type {Record<string, string>} */
    const units = this.said ? {} : { ...start.hints.units };
    for (const role of this.said ? start.roles : []) {
      const mine = look.columns.filter((c) => this.roleOf(c) === role);
      if (mine.length === 1 && mine[0]) columns[role] = mine[0].number;
      else if (!mine.length && role !== "current") columns[role] = 0;
    }
    for (const column of look.columns) {
      const role = this.roleOf(column);
      if (!role || role === "cycle") continue;
      const unit = this.units?.get(column.number) ?? (this.said && !this.foreign(column) ? column.unit : "");
      if (unit) units[role] = unit;
    }
    return { files: this.all() ? start.siblings : [], columns, units, delimiter: this.delimiter, decimal: this.decimal, skip: this.skip };
  }

  /** Whether the unit found for a column is of another role than the one it was given. @param {Column} column */
  foreign(column) {
    const known = this.start?.units[this.roleOf(column)];
    return Boolean(known) && Object.entries(this.start?.units || {}).some(([, units]) => units.includes(column.unit)) && !known?.includes(column.unit);
  }

  all() {
    const box = this.querySelector("[name=for]:checked");
    return box instanceof HTMLInputElement && box.value === "all";
  }

  /** Read the file anew as it stands in the form; only the newest answer counts. */
  async attempt() {
    const turn = this.turn = (this.turn || 0) + 1;
    this.changed = true;
    this.place("told")?.setAttribute("aria-busy", "true");
    /** @type {Look} */
    const answer = await ask(`/reading/try?file=${encodeURIComponent(this.start?.file || "")}`, this.asked());
    await handUp();
    if (turn !== this.turn) return;
    if (answer.columns.length !== this.look?.columns.length) { this.said = null; this.units = new Map(); }
    this.look = answer;
    this.draw();
  }

  /** @param {MouseEvent} event */
  clicked(event) {
    const at = event.target instanceof Element ? event.target.closest("button, [data-column], [data-line]") : null;
    if (!(at instanceof HTMLElement)) return;
    if (at.dataset.line) this.begin(Number(at.dataset.line));
    else if (at.dataset.column) { this.point(Number(at.dataset.column)); if (at.tagName === "TD") this.rove(at); }
    else if (at.dataset.do === "keep") this.keep();
    else if (at.dataset.do === "forget") this.forget();
    else if (at.dataset.do === "anew" && this.start) { this.look = this.start; this.reset(); this.draw(); }
  }

  /** @param {Event} event */
  chosen(event) {
    const field = event.target;
    if (!(field instanceof HTMLInputElement)) return;
    if (field.name === "role") this.assign(field.value);
    else if (field.name === "unit") this.measure(field.value);
    else if (field.name === "other") this.measure(field.value.trim());
    else if (field.name === "delimiter") { this.delimiter = field.value; this.attempt(); }
    else if (field.name === "decimal") { this.decimal = field.value; this.attempt(); }
    else if (field.name === "for") this.attempt();
  }

  /** Arrow keys walk over the raw lines; Enter points. @param {KeyboardEvent} event */
  key(event) {
    const cell = event.target;
    if (!(cell instanceof HTMLTableCellElement) || !cell.closest("[data-place=lines]")) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      cell.click();
      if (cell.dataset.column) { const chosen = this.place("column")?.querySelector("input:checked"); if (chosen instanceof HTMLElement) chosen.focus(); }
      return;
    }
    const row = cell.parentElement;
    const i = [...(row?.children || [])].indexOf(cell);
    const to = { ArrowRight: cell.nextElementSibling, ArrowLeft: cell.previousElementSibling, ArrowDown: row?.nextElementSibling?.children[i] || row?.nextElementSibling?.lastElementChild, ArrowUp: row?.previousElementSibling?.children[i] || row?.previousElementSibling?.lastElementChild }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    if (to instanceof HTMLElement) { this.rove(to); to.focus(); }
  }

  /** @param {HTMLElement} cell */
  rove(cell) {
    this.querySelector("[data-place=lines] [tabindex='0']")?.setAttribute("tabindex", "-1");
    cell.tabIndex = 0;
  }

  /** The numbers begin in a line. @param {number} line */
  begin(line) {
    this.skip = this.skip === line - 1 ? null : line - 1;
    say(this.skip === null ? "The first row of numbers is looked for again." : `The numbers begin in line ${line}.`);
    this.attempt();
  }

  /** @param {number} column */
  point(column) {
    this.column = column;
    for (const cell of this.querySelectorAll("[data-column]")) cell.classList.toggle("pointed", cell instanceof HTMLElement && Number(cell.dataset.column) === column);
    this.panel();
  }

  /** The column pointed at is of a role; what had it before is left out. @param {string} role */
  assign(role) {
    const { look } = this;
    if (!look) return;
    const said = this.said || new Map(look.columns.map((c) => [c.number, c.role]));
    for (const [column, has] of said) if (role && has === role) said.set(column, "");
    said.set(this.column || 0, role);
    this.said = said;
    this.attempt();
  }

  /** @param {string} unit */
  measure(unit) {
    this.units?.set(this.column || 0, unit);
    if (!this.said) this.said = new Map(this.look?.columns.map((c) => [c.number, c.role]));
    this.attempt();
  }

  async keep() {
    const answer = await ask(`/reading/keep?file=${encodeURIComponent(this.start?.file || "")}`, this.asked());
    say(`Kept in study.toml for ${answer.files === 1 ? "this file" : `${answer.files} files`}.`);
    location.href = answer.go;
  }

  async forget() {
    const answer = await ask(`/reading/keep?file=${encodeURIComponent(this.start?.file || "")}`, { files: this.all() ? this.start?.siblings : [] });
    location.href = answer.go;
  }

  draw() {
    const { look, start } = this;
    if (!look || !start) return;
    this.tell(look, start);
    this.lines(look);
    this.heads(look);
    this.marks(look);
    this.ending(look, start);
    if (this.column && this.column > look.columns.length) this.column = 0;
    this.point(this.column || 0);
  }

  /** @param {Look} look @param {Start} start */
  tell(look, start) {
    const told = this.place("told");
    if (!told) return;
    told.removeAttribute("aria-busy");
    told.className = look.problem ? "wrong" : look.failing?.length ? "caution" : "fine";
    const read = `${look.samples.toLocaleString("en")} rows are read${look.cycles > 1 ? ` as ${look.cycles} cycles` : ""}: ${look.x}, ${look.y}.`;
    const siblings = look.tried === undefined || !this.all() ? "" : look.failing?.length ? ` ${look.failing.length} of ${look.tried} siblings tried cannot be read so: ${look.failing.slice(0, 3).join(", ")}.` : ` So are ${look.tried === start.siblings.length ? `its ${look.tried} siblings` : `${look.tried} of its ${start.siblings.length} siblings, as many as were tried`}.`;
    lay(told, make("b", { textContent: look.problem ? "Not yet: " : "" }), look.problem ? look.problem.replace(`${start.file}: `, "").replace(`${start.file.split("/").pop()}: `, "") : read + siblings);
    lay(this.place("assumed"), ...look.assumed.map((words) => make("li", { textContent: words })));
    lay(this.place("picture"), ...(look.picture ? [make("img", { src: `data:image/svg+xml,${encodeURIComponent(look.picture)}`, alt: `The trace as it is read: ${look.y} over ${look.x}` }), make("figcaption", { textContent: `${look.y}, over ${look.x}` })] : [make("p", { className: "note", textContent: "The trace is drawn here as soon as a current and a potential or time are known." })]));
  }

  /** @param {Look} look */
  lines(look) {
    const roles = new Map(look.columns.map((c) => [c.number, this.roleOf(c)]));
    const rows = look.lines.map((line) => {
      const number = make("td", { textContent: String(line.number), className: "number", tabIndex: -1, title: `The numbers begin in line ${line.number}`, "aria-label": `Line ${line.number}. Enter: the numbers begin here` });
      Object.assign(number.dataset, { line: line.number, at: `${line.number}-0` });
      const row = make("tr", { className: line.number === look.first ? "first" : line.number < look.first ? "above" : "", "data-lay": line.number }, [number]);
      const whole = line.cells.length === 1 && line.cells[0]?.[1] === 0;
      if (whole) { row.append(make("td", { textContent: line.cells[0]?.[0] || "", colSpan: Math.max(1, look.columns.length), tabIndex: -1, className: "text" })); return row; }
      for (const [text, column] of line.cells) {
        if (!column) continue;
        const cell = make("td", { textContent: text, tabIndex: -1, "data-role": roles.get(column) || "none" });
        Object.assign(cell.dataset, { column, at: `${line.number}-${column}` });
        row.append(cell);
      }
      return row;
    });
    const body = this.place("lines");
    const was = body?.querySelector("[tabindex='0']");
    const at = was instanceof HTMLElement ? was.dataset.at : "";
    lay(body, ...rows);
    const first = (at && body?.querySelector(`[data-at="${at}"]`)) || body?.querySelector("tr.first td[data-column], td");
    if (first instanceof HTMLElement) first.tabIndex = 0;
  }

  /** @param {Look} look */
  heads(look) {
    const buttons = look.columns.map((c) => {
      const role = this.roleOf(c);
      const button = make("button", { type: "button", className: "columnhead", id: `column-${c.number}`, "data-role": role || "none" }, [make("small", {}, [make("span", { className: "unseen", textContent: "Column " }), `${c.number}${c.heading ? ` · ${c.heading}` : ""} `]), make("b", { textContent: role || "left out" }), make("span", { textContent: role && role !== "cycle" ? pretty(this.unitOf(c)) || "unit?" : "" })]);
      button.dataset.column = String(c.number);
      return button;
    });
    lay(this.place("heads"), ...(buttons.length ? buttons : [make("p", { className: "note", textContent: "No table of numbers was found. Click the line number at which the numbers begin, or choose what stands between the columns." })]));
  }

  panel() {
    const { look, start } = this;
    const place = this.place("column");
    const column = look?.columns.find((c) => c.number === this.column);
    if (!place || !look || !start) return;
    if (!column) { lay(place, make("p", { className: "note", textContent: "Click a column, here or in the raw lines, to say what it is." })); return; }
    const role = this.roleOf(column);
    const roles = make("fieldset", {}, [make("legend", { textContent: `Column ${column.number}${column.heading ? ` (${column.heading})` : ""} is` }), ...[...start.roles, ""].map((r) => this.radio("role", r, r || "left out", r === role))]);
    const parts = [roles];
    const offered = start.units[role];
    if (offered) {
      const unit = this.unitOf(column);
      const other = make("input", { name: "other", id: "other-unit", size: 9, defaultValue: offered.includes(unit) ? "" : unit, placeholder: "other" });
      other.setAttribute("aria-label", `Another unit of column ${column.number}`);
      parts.push(make("fieldset", {}, [make("legend", { textContent: "in" }), ...offered.map((u) => this.radio("unit", u, pretty(u), u === unit)), other]));
    }
    lay(place, ...parts);
  }

  /** @param {string} name @param {string} value @param {string} words @param {boolean} on */
  radio(name, value, words, on) {
    const id = `${name}-${value || "none"}`;
    return make("label", { className: "choice", "data-lay": id }, [make("input", { type: "radio", name, value, id, checked: on }), words]);
  }

  /** @param {Look} look */
  marks(look) {
    const between = { "": `as found${look.delimiter && !this.delimiter ? `: ${look.delimiter}` : ""}`, tab: "tab", ";": "; semicolon", ",": ", comma", "|": "| bar", space: "space" };
    const sign = { "": `as found${look.decimal && !this.decimal ? `: ${look.decimal === "," ? "comma" : "point"}` : ""}`, ".": ". point", ",": ", comma" };
    lay(
      this.place("marks"),
      make("fieldset", {}, [make("legend", { textContent: "Between the columns stands" }), ...Object.entries(between).map(([value, words]) => this.radio("delimiter", value, words, this.delimiter === value))]),
      make("fieldset", {}, [make("legend", { textContent: "The decimal sign is" }), ...Object.entries(sign).map(([value, words]) => this.radio("decimal", value, words, this.decimal === value))]),
      make("p", { className: "note", textContent: look.first ? `The numbers begin in line ${look.first}${this.skip === null ? ", as found" : ""}. Click another line's number if that is wrong.` : "Click the number of the line in which the numbers begin." }),
    );
  }

  /** @param {Look} look @param {Start} start */
  ending(look, start) {
    const keep = this.querySelector("[data-do=keep]");
    if (keep instanceof HTMLButtonElement) {
      keep.disabled = Boolean(look.problem) || !this.changed;
      keep.textContent = this.all() && start.siblings.length ? `Keep for ${start.siblings.length + 1} files` : "Keep for this file";
    }
    const anew = this.querySelector("[data-do=anew]");
    if (anew instanceof HTMLButtonElement) anew.hidden = !this.changed;
  }
}
customElements.define("reading-form", ReadingForm);
