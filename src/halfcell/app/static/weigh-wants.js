// @ts-check
/** Weights, limits and confidence under the hand: the server chooses, this shows. */
import { showClashes } from "/static/clash.js";
import { handUp } from "/static/hand.js";
import { ask, Refused, renew, say } from "/static/page.js";

/** @typedef {{value: number|null, standard_uncertainty: number|null}} Value */
/** @typedef {{candidate: string, desirability: Value, probability_best: number, places: number[]}} Row */
/** @typedef {{lowered_to: number|null, then: string, raised_to: number|null, then_raised: string}} Move */
/** @typedef {{leader: string|null, ranking: Row[], failed: string[], unranked: string[], weights: Move[], explanation: string[]}} Choice */
/** @typedef {{wants: {weight: number}[], limits: {number: number, limit: number}[], level: number, about: string[], choice: Choice}} Start */

/** @param {number|null} value @param {number} digits */
const rounded = (value, digits) => (value === null || !Number.isFinite(value) ? "–" : value.toFixed(digits).replace("-", "−"));

/** No more is claimed than the random draws can show. @param {number} p */
const chanceOf = (p) => (p > 0.99 ? "above\u00a099\u00a0%" : p < 0.01 ? "below\u00a01\u00a0%" : `${rounded(100 * p, 0)}\u00a0%`);

class WeighWants extends HTMLElement {
  /** What the study says, as far as this page knows. @type {Start | undefined} */
  start = undefined;

  connectedCallback() {
    if (this.start) return;
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || "{}");
    this.start = start;
    this.busy = false;
    this.again = false;
    this.addEventListener("input", (event) => this.moved(event));
    this.querySelector("form")?.addEventListener("submit", (event) => event.preventDefault());
    this.querySelector("[data-keep-it]")?.addEventListener("click", () => this.keep());
    this.querySelector("[data-back]")?.addEventListener("click", () => { this.back(); renew(); });
    this.show(start.choice);
    this.addEventListener("renewed", () => this.renewed());
    // What was typed before this script was there is in hand like the rest.
    if (JSON.stringify(this.asked()) !== JSON.stringify(this.stated(start))) { this.dataset.keep = ""; this.buttons(true); this.attempt(); }
  }

  /** The study changed: show it, unless a person is trying something. */
  renewed() {
    const before = this.start;
    /** @type {Start} */
    const start = JSON.parse(this.dataset.start || "{}");
    // Other criteria need other fields: a page made for those before would put numbers under wrong words.
    if (JSON.stringify(before?.about) !== JSON.stringify(start.about)) {
      if (this.dataset.keep === undefined) location.reload();
      return;
    }
    this.start = start;
    if (this.dataset.keep === undefined) this.back();
    this.attempt();
  }

  /** @param {string} name @returns {HTMLInputElement[]} */
  fields(name) {
    return [...this.querySelectorAll(`input[type=number][data-${name}]`)].filter((field) => field instanceof HTMLInputElement);
  }

  asked() {
    /** @type {Record<string, number>} */
    const limits = {};
    for (const field of this.fields("limit")) limits[field.dataset.limit || ""] = field.valueAsNumber;
    return { weights: this.fields("weight").map((field) => field.valueAsNumber), limits, level: this.fields("level")[0]?.valueAsNumber ?? 0.95 };
  }

  /** The weights, limits and confidence of the study, as ``asked`` gives those of the fields. @param {Start} start */
  stated(start) {
    return { weights: start.wants.map((want) => want.weight), limits: Object.fromEntries(start.limits.map((l) => [l.number, l.limit])), level: start.level };
  }

  /** @param {Event} event */
  moved(event) {
    const field = event.target;
    if (!(field instanceof HTMLInputElement)) return;
    if (field.dataset.weight !== undefined) {
      for (const twin of this.querySelectorAll(`input[data-weight="${field.dataset.weight}"]`)) {
        if (twin instanceof HTMLInputElement && twin !== field) twin.value = field.value;
      }
    }
    this.dataset.keep = "";
    this.buttons(true);
    this.attempt();
  }

  /** One question under way; the newest state is asked next. */
  async attempt() {
    if (this.busy) { this.again = true; return; }
    const asked = this.asked();
    if ([...asked.weights, ...Object.values(asked.limits), asked.level].some((v) => !Number.isFinite(v))) return;
    this.busy = true;
    try {
      const choice = await ask("/chooses/try", asked);
      await handUp("input[type=range]"); // words that grow would push a button from under the hand
      this.show(choice);
    } catch { /* the words were shown */ }
    this.busy = false;
    if (this.again) { this.again = false; this.attempt(); }
  }

  /** @param {Choice} choice */
  show(choice) {
    const body = this.querySelector("tbody");
    if (!body) return;
    body.replaceChildren(...choice.ranking.map((row) => this.row(row, row.candidate === choice.leader)));
    for (const [names, words] of /** @type {[string[], string][]} */ ([[choice.failed, "fails a must"], [choice.unranked, "a wanted finding is missing"]])) {
      for (const name of names) {
        const line = document.createElement("tr");
        line.className = "out";
        line.append(...[name, words, "–", "–"].map((text) => this.cell(text)));
        body.append(line);
      }
    }
    choice.weights.forEach((move, i) => {
      const place = this.querySelector(`[data-move="${i}"]`);
      if (!place) return;
      const parts = [];
      if (move.lowered_to !== null) parts.push(`below ${rounded(move.lowered_to, 2)} ${move.then} leads`);
      if (move.raised_to !== null) parts.push(`above ${rounded(move.raised_to, 2)} ${move.then_raised} leads`);
      place.textContent = parts.join("; ") || "no weight changes who leads";
    });
    this.querySelector(".told")?.replaceChildren(...choice.explanation.slice(0, 2).map((text) => Object.assign(document.createElement("p"), { textContent: text })));
  }

  /** @param {string} text */
  cell(text) { return Object.assign(document.createElement("td"), { textContent: text }); }

  /** @param {Row} row @param {boolean} leads */
  row(row, leads) {
    const line = document.createElement("tr");
    if (leads) line.className = "leads";
    const chance = this.cell(chanceOf(row.probability_best));
    const bar = document.createElement("meter");
    bar.value = row.probability_best;
    bar.setAttribute("aria-hidden", "true");
    chance.prepend(bar);
    const { value, standard_uncertainty: u } = row.desirability;
    const places = row.places[0] === row.places[1] ? `${row.places[0]}` : `${row.places[0]} to ${row.places[1]}`;
    line.append(this.cell(row.candidate), chance, this.cell(`${rounded(value, 2)}${u === null ? "" : ` ± ${rounded(u, 2)}`}`), this.cell(places));
    return line;
  }

  /** @param {boolean} on */
  buttons(on) {
    for (const button of this.querySelectorAll("[data-keep-it], [data-back]")) if (button instanceof HTMLButtonElement) button.disabled = !on;
  }

  async keep() {
    /** @type {Start | undefined} */
    const start = this.start;
    if (!start) return;
    const seen = this.stated(start);
    const sent = this.asked();
    this.buttons(false);
    try {
      await ask("/chooses/keep", { ...sent, seen, about: start.about });
    } catch (error) {
      await renew();
      this.buttons(true);
      if (error instanceof Refused && error.clashes.length) showClashes(this, error.clashes, (clash, mine) => { if (!mine) this.take(clash); });
      return;
    }
    showClashes(this, [], () => {});
    say("Kept in study.toml.");
    // What was moved while this was on its way is still in hand.
    this.start = { ...start, wants: start.wants.map((want, i) => ({ ...want, weight: sent.weights[i] ?? want.weight })), limits: start.limits.map((l) => ({ ...l, limit: sent.limits[l.number] ?? l.limit })), level: sent.level };
    const more = JSON.stringify(this.asked()) !== JSON.stringify(sent);
    if (!more) delete this.dataset.keep;
    this.buttons(more);
  }

  /** The value in the folder, in the field it belongs to. @param {import("/static/clash.js").Clash} clash */
  take(clash) {
    const [name = "", number] = clash.at.split(" ");
    const field = this.fields(name).find((one) => number === undefined || one.dataset[name] === number);
    if (!field) return;
    field.value = clash.now;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  back() {
    /** @type {Start | undefined} */
    const start = this.start;
    if (!start) return;
    start.wants.forEach((want, i) => {
      for (const field of this.querySelectorAll(`input[data-weight="${i}"]`)) if (field instanceof HTMLInputElement) field.value = String(want.weight);
    });
    for (const { number, limit } of start.limits) for (const field of this.fields("limit")) if (field.dataset.limit === String(number)) field.value = String(limit);
    for (const field of this.fields("level")) field.value = String(start.level);
    delete this.dataset.keep;
    this.buttons(false);
    showClashes(this, [], () => {});
    this.show(start.choice);
  }
}
customElements.define("weigh-wants", WeighWants);
