// @ts-check
/** Which file is what: say once what a part of the names means, or edit the cells. */
import { pastedCells, placeOf, step } from "/static/cells.js";
import { showClashes } from "/static/clash.js";
import { handUp, lay } from "/static/hand.js";
import { make } from "/static/make.js";
import { ask, Refused, say } from "/static/page.js";

/** @typedef {{key: string, title: string, meaning: string, values: string[]}} Part */
/** @typedef {{file: string, name: string, cells: Record<string, string>, guessed: string}} Row */
/** @typedef {{parts: Part[], meanings: [string, string][], columns: [string, string][], rows: Row[], techniques: string[], solutions: string[], made: [string, string][], roles: string[], electrodes: Record<string, Record<string, string>>}} Start */

const OF_ELECTRODE = ["material", "recipe", "batch", "electrode"];

/** The column of the table of files that a meaning fills. @param {string} meaning */
function columnOf(meaning) { return OF_ELECTRODE.includes(meaning) ? "electrode" : meaning.split(" ")[0] || ""; }

class NameGrid extends HTMLElement {
  connectedCallback() {
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || "{}");
    this.start = start;
    /** @type {Map<string, string>} */
    this.meanings = new Map(start.parts.map((p) => [p.key, p.meaning]));
    /** What was said or derived of electrodes: name, key and value. @type {Map<string, Record<string, string>>} */
    this.made = new Map();
    this.addEventListener("change", (event) => this.chosen(event));
    this.addEventListener("keydown", (event) => this.key(event));
    this.addEventListener("paste", (event) => this.pasted(event));
    this.addEventListener("click", (event) => { const at = event.target; if (at instanceof HTMLElement && at.dataset.do === "keep") this.keep(); else if (at instanceof HTMLElement && at.dataset.do === "alike") this.alike(at); });
    this.draw();
  }

  /** @param {string} name */
  place(name) { const place = this.querySelector(`[data-place="${name}"]`); return place instanceof HTMLElement ? place : null; }

  draw() {
    const { start } = this;
    if (!start) return;
    this.place("parts")?.replaceChildren(...start.parts.map((part) => {
      const select = make("select", { id: `part-${part.key.replace(" ", "-")}` }, start.meanings.map(([value, words]) => make("option", { value, textContent: words, selected: value === part.meaning })));
      select.dataset.part = part.key;
      const values = [...new Set(part.values.filter(Boolean))];
      const card = make("div", { className: `namepart${part.meaning ? " from" : ""}` }, [make("small", { textContent: `${values.slice(0, 6).join(" · ")}${values.length > 6 ? " · …" : ""}`, title: values.join(" · ") }), make("label", { htmlFor: select.id, textContent: `${part.title} is` }), select]);
      card.dataset.card = part.key;
      return card;
    }));
    this.place("head")?.replaceChildren(make("tr", {}, [make("th", { scope: "col", textContent: "File" }), ...start.columns.map(([column, words]) => make("th", { scope: "col", textContent: words, className: `column-${column}` }))]));
    this.place("rows")?.replaceChildren(...start.rows.map((row, i) => this.row(row, i)));
    this.place("lists")?.replaceChildren(make("datalist", { id: "known-electrode" }, Object.keys(start.electrodes).map((value) => make("option", { value }))), make("datalist", { id: "known-solution" }, start.solutions.map((value) => make("option", { value }))));
    this.settle();
  }

  /** @param {Row} row @param {number} i */
  row(row, i) {
    const cells = (this.start?.columns || []).map(([column, words], j) => {
      const value = row.cells[column] || "";
      /** @type {HTMLInputElement | HTMLSelectElement} */
      const field = column === "technique"
        ? make("select", {}, ["?", ...(this.start?.techniques || [])].map((t) => make("option", { value: t, textContent: t === "?" ? "– say which –" : t, selected: t === (value || "?") })))
        : make("input", { value: value === "?" ? "" : value, size: { order: 4, scan_rate: 10, concentration: 12 }[column] || 14, ...(column === "electrode" || column === "solution" ? { list: `known-${column}` } : {}) });
      field.setAttribute("aria-label", `${row.name}, ${words}`);
      Object.assign(field.dataset, { at: `${i} ${j}`, row: i, column, was: value, last: field.value });
      return make("td", { className: `column-${column}` }, [field]);
    });
    const use = make("input", { type: "checkbox", checked: true });
    use.setAttribute("aria-label", `Use ${row.name}`);
    Object.assign(use.dataset, { use: row.file });
    return make("tr", {}, [make("th", { scope: "row", title: row.guessed ? `Guessed: ${row.guessed}` : "" }, [make("label", {}, [use, ` ${row.name}`])]), ...cells]);
  }

  /** @param {number | string} i @param {string} column */
  field(i, column) {
    const field = this.querySelector(`[data-row="${i}"][data-column="${column}"]`);
    return field instanceof HTMLInputElement || field instanceof HTMLSelectElement ? field : null;
  }

  /** Every field of the grid. */
  fields() { return [...this.querySelectorAll("[data-row][data-column]")].flatMap((f) => (f instanceof HTMLInputElement || f instanceof HTMLSelectElement ? [f] : [])); }

  /** @param {Event} event */
  chosen(event) {
    const field = event.target;
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) return;
    if (field.dataset.part) this.mean(field.dataset.part, field.value);
    else if (field.dataset.use) { field.closest("tr")?.classList.toggle("out", field instanceof HTMLInputElement && !field.checked); this.settle(); }
    else if (field.dataset.made) { this.say_made(field.dataset.made, field.dataset.key || "", field.value.trim()); this.settle(false); }
    else if (field.dataset.column) this.edited(field);
  }

  /** A part of the names means something: what it says is put in, for every file. @param {string} part @param {string} meaning */
  async mean(part, meaning) {
    const { meanings } = this;
    if (!meanings) return;
    /** Columns whose answer is still out: only the newest counts. @type {Set<string>} */
    const touched = this.touched = new Set([...(this.touched || []), columnOf(meanings.get(part) || ""), columnOf(meaning)].filter(Boolean));
    meanings.set(part, meaning);
    this.querySelector(`[data-card="${part}"]`)?.classList.toggle("from", Boolean(meaning));
    const answer = await ask("/names/try", { meanings: Object.fromEntries(meanings) });
    await handUp();
    if (touched !== this.touched) return;
    this.touched = new Set();
    let count = 0;
    for (const [i, row] of (this.start?.rows || []).entries()) {
      for (const column of touched) {
        const value = answer.cells[row.file]?.[column], field = this.field(i, column);
        if (value === undefined || !field || field.value === value) continue;
        if (field === document.activeElement && field.value !== field.dataset.last) continue; // being typed in
        field.value = value;
        field.dataset.last = value;
        count += 1;
      }
    }
    if (touched.has("electrode")) for (const [name, keys] of Object.entries(answer.electrodes)) this.made?.set(name, { ...this.made.get(name), ...keys });
    say(count ? `${count} cells filled from the names.` : "Nothing in the names could be read as that, or it stands there already.");
    this.settle();
  }

  /** One cell was edited; rows that said the same may follow. @param {HTMLInputElement | HTMLSelectElement} field */
  edited(field) {
    const { column = "", row = "0", last = "" } = field.dataset;
    const parts = (this.start?.parts || []).filter((p) => columnOf(this.meanings?.get(p.key) || "") === column);
    const token = parts.map((p) => p.values[Number(row)] || "").join("\0");
    const others = this.fields().filter((f) => f !== field && f.dataset.column === column && f.value === last && parts.map((p) => p.values[Number(f.dataset.row)] || "").join("\0") === token);
    field.dataset.last = field.value;
    /** @type {(Node | string)[]} */
    const offer = [];
    if (others.length && others.length < (this.start?.rows.length || 0)) {
      const button = make("button", { type: "button", className: "small", textContent: `Change the ${others.length} other${others.length > 1 ? "s" : ""} too` });
      Object.assign(button.dataset, { do: "alike", rows: others.map((f) => f.dataset.row).join(" "), column, value: field.value });
      offer.push(`${others.length} other ${others.length > 1 ? "rows" : "row"} said ${last && last !== "?" ? `“${last}”` : "nothing"} there as well${token.replace(/\0/g, "") ? ` for “${token.replace(/\0/g, " ").trim()}”` : ""}. `, button);
    }
    this.offer(offer);
    this.settle();
  }

  /** The newest offer; one that is being taken is taken first. @param {(Node | string)[]} words */
  async offer(words) {
    this.offered = words;
    await handUp();
    if (words === this.offered) this.place("offer")?.replaceChildren(...words);
  }

  /** @param {HTMLElement} button */
  alike(button) {
    for (const row of (button.dataset.rows || "").split(" ")) { const field = this.field(row, button.dataset.column || ""); if (field) { field.value = button.dataset.value || ""; field.dataset.last = field.value; } }
    if (this.place("offer")?.contains(button)) this.place("offer")?.replaceChildren();
    this.settle();
  }

  /** @param {string} name @param {string} key @param {string} value */
  say_made(name, key, value) { this.made?.set(name, { ...this.made.get(name), [key]: value }); }

  /** Enter and arrows go up and down. @param {KeyboardEvent} event */
  key(event) {
    const at = placeOf(event);
    const listed = event.target instanceof HTMLInputElement && event.target.list;
    if (!at || !step(event) || (listed && event.key !== "Enter")) return;
    event.preventDefault();
    const to = this.querySelector(`[data-at="${at.i + step(event)} ${at.j}"]`);
    if (to instanceof HTMLInputElement) to.select(); else if (to instanceof HTMLElement) to.focus();
  }

  /** A block from a spreadsheet. @param {ClipboardEvent} event */
  pasted(event) {
    const cells = pastedCells(event);
    if (!cells) return;
    let beyond = 0;
    for (const { i, j, value } of cells) {
      const field = this.querySelector(`[data-at="${i} ${j}"]`);
      if (field instanceof HTMLInputElement || field instanceof HTMLSelectElement) { field.value = value; field.dataset.last = field.value; } else beyond += 1;
    }
    if (beyond) say(`${beyond} pasted cells lie beyond the grid and were left.`);
    this.settle();
  }

  /** What was changed, as the server takes it. */
  cells() {
    return this.fields().flatMap((f) => {
      const file = this.start?.rows[Number(f.dataset.row)]?.file || "", was = f.dataset.was || "";
      const value = f.value.trim() || (was === "?" ? "?" : "");
      return value === was || (value === "?" && !was) ? [] : [{ file, column: f.dataset.column, was, value }];
    });
  }

  left() { return [...this.querySelectorAll("[data-use]")].flatMap((f) => (f instanceof HTMLInputElement && !f.checked ? [f.dataset.use || ""] : [])); }

  /** Marks, counts and the table of electrodes follow. @param {boolean} [electrodes] */
  settle(electrodes = true) {
    const out = new Set(this.left());
    let lacking = 0;
    for (const field of this.fields()) {
      const used = !out.has(this.start?.rows[Number(field.dataset.row)]?.file || "");
      const empty = used && (field.dataset.column === "electrode" || field.dataset.column === "technique") && (!field.value || field.value === "?");
      field.classList.toggle("lacking", empty);
      field.classList.toggle("changed", field.value !== field.dataset.was && !(field.dataset.was === "?" && !field.value) && !(!field.dataset.was && field.value === "?"));
      lacking += Number(empty);
    }
    this.classList.toggle("sampled", [...(this.meanings || [])].some(([, meaning]) => meaning === "sample") || this.fields().some((f) => f.dataset.column === "sample" && f.value));
    if (electrodes) this.electrodes(out);
    const changes = this.cells().length + out.size + [...(this.made || [])].length;
    const told = this.place("told");
    if (told) told.textContent = [lacking ? `${lacking} cells still lack an electrode or a kind of record (marked).` : "Every file has an electrode and a kind of record.", out.size ? `${out.size} files are left out of the study; they stay in the folder.` : ""].join(" ");
    const keep = this.querySelector("[data-do=keep]");
    if (!(keep instanceof HTMLButtonElement)) return;
    keep.textContent = changes ? "Keep and go on" : "It is right: go on";
    keep.disabled = false;
  }

  /** @param {Set<string>} out */
  electrodes(out) {
    /** @type {Map<string, number>} */
    const count = new Map();
    for (const [i, row] of (this.start?.rows || []).entries()) { const name = this.field(i, "electrode")?.value.trim(); if (name && !out.has(row.file)) count.set(name, (count.get(name) || 0) + 1); }
    const rows = [...count].sort(([a], [b]) => a.localeCompare(b, undefined, { numeric: true })).map(([name, files]) => make("tr", { "data-lay": name }, [
      make("th", { scope: "row", textContent: name }), make("td", { className: "plain", textContent: String(files) }),
      ...(this.start?.made || []).map(([key, words]) => {
        const value = this.made?.get(name)?.[key] ?? this.start?.electrodes[name]?.[key] ?? "";
        const field = key === "role" ? make("select", {}, (this.start?.roles || []).map((r) => make("option", { value: r, textContent: r, selected: r === (value || "candidate") }))) : make("input", { defaultValue: value === "?" ? "" : value, size: 18, placeholder: key === "material" && !this.start?.electrodes[name] ? "guessed from the name" : "" });
        field.setAttribute("aria-label", `${name}, ${words}`);
        Object.assign(field.dataset, { made: name, key, lay: "field" });
        return make("td", {}, [field]);
      })]));
    lay(this.place("electrodes"), ...rows);
  }

  async keep() {
    const names = new Set(this.fields().flatMap((f) => (f.dataset.column === "electrode" && f.value ? [f.value.trim()] : [])));
    const electrodes = Object.fromEntries([...(this.made || [])].filter(([name]) => names.has(name)));
    const checked = this.querySelector("[name=checked]");
    try {
      const answer = await ask("/names/keep", { cells: this.cells(), left_out: this.left(), electrodes, checked: checked instanceof HTMLInputElement && checked.checked });
      location.href = answer.go;
    } catch (error) {
      if (error instanceof Refused && error.clashes.length) this.clashed(error.clashes);
    }
  }

  /** The grid takes note of what stands in the folder now; what the person chose stays until they say which to keep.
   * @param {import("/static/clash.js").Clash[]} clashes */
  clashed(clashes) {
    const rows = this.start?.rows || [];
    /** @param {import("/static/clash.js").Clash} clash */
    const fieldOf = (clash) => { const [file, column = ""] = clash.at.split("\t"); return this.field(rows.findIndex((row) => row.file === file), column); };
    for (const clash of clashes) { const field = fieldOf(clash); if (field) field.dataset.was = clash.now; }
    showClashes(this, clashes, (clash, mine) => {
      const field = fieldOf(clash);
      if (field && !mine) { field.value = clash.now; field.dataset.last = clash.now; }
      this.settle();
    });
  }
}
customElements.define("name-grid", NameGrid);
