// @ts-check
/** A micrograph with its outlines: zoom, pan, take particles out, add them, leave regions out. */
import { decide } from "/static/decide.js";
import { handUp, lay } from "/static/hand.js";
import { ask, say } from "/static/page.js";

/** @typedef {{x: number, y: number, diameter: number, cut: boolean, outline: number[][]}} Particle */
/** @typedef {{kind: string, x?: number, y?: number, diameter?: number, polygon?: number[][], why?: string}} Decided */
/** @typedef {{mark: string, width: number, height: number, bar: number, nm: number, particles: Particle[], decided: Decided[], warnings: string[]}} Shown */

const SVG = "http://www.w3.org/2000/svg";

/** @param {string} name @param {Record<string, string | number>} attributes */
function drawn(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}

class ParticleEditor extends HTMLElement {
  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    /** @type {number[][]} */
    this.corners = [];
    /** @type {number[] | undefined} */
    this.view = undefined;
    this.images();
    this.querySelector("select")?.addEventListener("change", () => { this.view = undefined; this.corners = []; this.open(); });
    this.addEventListener("renewed", () => { this.images(); this.open(); });
    for (const button of this.querySelectorAll("[data-zoom]")) if (button instanceof HTMLElement) button.addEventListener("click", () => this.zoom(button.dataset.zoom || ""));
    this.querySelector("[data-scale]")?.addEventListener("click", () => this.scale());
    this.querySelector("[data-close]")?.addEventListener("click", () => this.close());
    const svg = this.svg;
    svg?.addEventListener("pointerdown", (event) => this.press(event));
    svg?.addEventListener("keydown", (event) => this.key(event));
    svg?.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(event.deltaY < 0 ? "in" : "out", this.where(event)); }, { passive: false });
    this.open();
  }

  get svg() { return this.querySelector("svg"); }
  get file() { return this.querySelector("select")?.value || ""; }
  get tool() {
    const chosen = this.querySelector("input[name=particle-tool]:checked");
    return chosen instanceof HTMLInputElement ? chosen.value : "toggle";
  }

  images() {
    const select = this.querySelector("select");
    if (!select) return;
    const before = select.value;
    /** @type {{images: {file: string, title: string}[]}} */
    const start = JSON.parse(this.dataset.start || '{"images":[]}');
    lay(select, ...start.images.map((image) => new Option(image.title, image.file)));
    if (start.images.some((image) => image.file === before)) select.value = before;
  }

  async open() {
    const file = this.file;
    const turn = this.turn = (this.turn || 0) + 1;
    if (!file) return;
    const response = await fetch(`/made/image?file=${encodeURIComponent(file)}`);
    if (!response.ok || file !== this.file) return;
    /** @type {Shown} */
    const shown = await response.json();
    await handUp(); // what is pressed is of the particles as they are seen
    if (turn !== this.turn || file !== this.file) return;
    this.shown = shown;
    this.draw();
  }

  draw() {
    const { svg, shown } = this;
    if (!svg || !shown) return;
    this.view ??= [0, 0, shown.width, shown.height];
    svg.setAttribute("viewBox", this.view.join(" "));
    const picture = drawn("image", { href: `/made/picture?file=${encodeURIComponent(this.file)}&of=${shown.mark}`, x: 0, y: 0, width: shown.width, height: shown.height, preserveAspectRatio: "none" });
    const outlines = shown.particles.map((particle, i) => this.outline(particle, i));
    const decided = shown.decided.flatMap((one) => this.mark(one));
    const corners = (this.corners || []).length ? [drawn("polyline", { class: "corner", points: (this.corners || []).map((p) => p.join(",")).join(" ") })] : [];
    const focused = document.activeElement instanceof SVGElement ? document.activeElement.getAttribute("data-index") : null;
    lay(svg, picture, ...outlines, ...decided, ...corners);
    if (focused !== null) this.refocus(Number(focused));
    const told = this.querySelector("[data-told]");
    const out = shown.decided.filter((d) => d.kind === "exclude particle").length;
    if (told) told.textContent = `${shown.particles.length} particles${out ? `, ${out} taken out by hand` : ""}; one pixel is ${shown.nm.toPrecision(3)} nm. ${shown.warnings.join(" ")}`;
    const close = this.querySelector("[data-close]");
    if (close instanceof HTMLButtonElement) close.disabled = (this.corners || []).length < 3;
  }

  /** @param {Particle} particle @param {number} i */
  outline(particle, i) {
    const path = drawn("path", {
      class: particle.cut ? "particle cut" : "particle", d: `M${particle.outline.map((p) => p.join(" ")).join("L")}Z`, role: "checkbox", "aria-checked": "true",
      "aria-label": `Particle ${i + 1}, ${(particle.diameter).toFixed(1)} pixels across`, tabindex: i === 0 ? 0 : -1, "data-index": i, "data-lay": `${particle.x} ${particle.y}`,
    });
    return path;
  }

  /** The focus stays on a particle; where it is gone, on the one that took its place. @param {number} index */
  refocus(index) {
    const svg = this.svg, count = this.shown?.particles.length || 0, now = document.activeElement;
    const to = now instanceof SVGElement && svg?.contains(now) ? now : svg?.querySelector(`[data-index="${Math.min(index, count - 1)}"]`);
    if (!(to instanceof SVGElement) || !to.classList.contains("particle")) return;
    svg?.querySelector(".particle[tabindex='0']")?.setAttribute("tabindex", "-1");
    to.setAttribute("tabindex", "0");
    if (to !== now) to.focus({ preventScroll: true });
  }

  /** @param {Decided} one */
  mark(one) {
    if (one.kind === "mask region" && one.polygon) return [drawn("polygon", { class: "masked", points: one.polygon.map((p) => p.join(",")).join(" ") })];
    if (one.kind === "exclude particle" && one.x !== undefined) {
      const ring = drawn("circle", { class: "excluded", cx: one.x, cy: one.y ?? 0, r: 8, role: "checkbox", "aria-checked": "false", "aria-label": "Particle taken out; click to put it back", tabindex: 0, "data-lay": `${one.x} ${one.y ?? 0}` });
      ring.setAttribute("data-x", String(one.x));
      ring.setAttribute("data-y", String(one.y));
      return [ring];
    }
    return [];
  }

  /** Place in the image under the pointer. @param {MouseEvent} event */
  where(event) {
    const box = this.svg?.getBoundingClientRect();
    const view = this.view || [0, 0, 1, 1];
    if (!box) return [0, 0];
    const fit = Math.min(box.width / (view[2] ?? 1), box.height / (view[3] ?? 1));
    const left = (box.width - (view[2] ?? 1) * fit) / 2;
    const top = (box.height - (view[3] ?? 1) * fit) / 2;
    return [(view[0] ?? 0) + (event.clientX - box.left - left) / fit, (view[1] ?? 0) + (event.clientY - box.top - top) / fit];
  }

  /** @param {PointerEvent} event */
  press(event) {
    const svg = this.svg;
    if (!svg || event.button !== 0) return;
    const begun = [event.clientX, event.clientY];
    /** @type {number[]} */
    const view = [...(this.view || [])];
    const target = event.target;
    const [x0 = 0, y0 = 0] = this.where(event);
    let panned = false;
    /** @param {PointerEvent} moved */
    const pan = (moved) => {
      if (Math.hypot(moved.clientX - (begun[0] ?? 0), moved.clientY - (begun[1] ?? 0)) < 5 && !panned) return;
      panned = true;
      this.view = view;
      const [x = 0, y = 0] = this.where(moved);
      this.view = [(view[0] ?? 0) + x0 - x, (view[1] ?? 0) + y0 - y, view[2] ?? 1, view[3] ?? 1];
      svg.setAttribute("viewBox", this.view.join(" "));
    };
    /** @param {Event} ended */
    const end = (ended) => {
      window.removeEventListener("pointermove", pan);
      window.removeEventListener("pointerup", end);
      window.removeEventListener("pointercancel", end);
      if (!panned && ended.type === "pointerup") this.clicked(target, [x0, y0]);
    };
    window.addEventListener("pointermove", pan);
    window.addEventListener("pointerup", end);
    window.addEventListener("pointercancel", end);
  }

  /** @param {EventTarget | null} target @param {number[]} place */
  clicked(target, place) {
    const [x = 0, y = 0] = place.map((v) => Math.round(v * 10) / 10);
    if (this.tool === "mask") {
      this.corners = [...(this.corners || []), [x, y]];
      this.draw();
    } else if (this.tool === "add") {
      const field = this.querySelector("#particle-diameter");
      const diameter = field instanceof HTMLInputElement ? field.valueAsNumber : 20;
      this.decide({ kind: "add particle", file: this.file, x, y, diameter }, "A particle was added.");
    } else if (target instanceof Element) this.toggle(target);
  }

  /** @param {Element} target */
  toggle(target) {
    if (target.classList.contains("excluded")) {
      const found = { kind: "exclude particle", file: this.file, x: Number(target.getAttribute("data-x")), y: Number(target.getAttribute("data-y")) };
      target.remove();
      ask("/decide/without", { without: [found] }).then((answer) => { document.dispatchEvent(new CustomEvent("decided", { detail: answer })); say("The particle is back."); }).catch(() => this.draw());
      return;
    }
    const particle = this.shown?.particles[Number(target.getAttribute("data-index"))];
    if (!target.classList.contains("particle") || !particle) return;
    target.setAttribute("aria-checked", "false");
    target.classList.add("going");
    this.decide({ kind: "exclude particle", file: this.file, x: Math.round(particle.x * 10) / 10, y: Math.round(particle.y * 10) / 10 }, "The particle is taken out.");
  }

  /** @param {Record<string, unknown>} decision @param {string} words */
  async decide(decision, words) {
    try { await decide([decision], [], words); } catch { this.draw(); return false; }
    return true;
  }

  async close() {
    const polygon = this.corners || [], file = this.file;
    // Corners set while this was on its way are of the next region.
    if (await this.decide({ kind: "mask region", file, polygon }, "The region is left out.") && file === this.file) this.corners = (this.corners || []).slice(polygon.length);
    this.draw();
  }

  async scale() {
    const field = this.querySelector("#particle-scale");
    if (!(field instanceof HTMLInputElement) || !field.value.trim()) { say("Write the length of a pixel, such as 1.5 nm."); return; }
    await ask("/made/scale", { file: this.file, scale: field.value.trim() });
    say("The scale is in runs.csv.");
  }

  /** Arrow keys walk through the particles; space takes one out. @param {KeyboardEvent} event */
  key(event) {
    const now = event.target;
    if (!(now instanceof SVGElement)) return;
    if (event.key === " " || event.key === "Enter") { event.preventDefault(); this.toggle(now); return; }
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!step || !now.classList.contains("particle")) return;
    event.preventDefault();
    const next = this.svg?.querySelector(`[data-index="${Number(now.getAttribute("data-index")) + step}"]`);
    if (!(next instanceof SVGElement)) return;
    now.setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
    next.focus();
  }

  /** @param {string} way @param {number[]} [about] */
  zoom(way, about) {
    const { shown } = this;
    if (!shown || !this.view) return;
    const [x = 0, y = 0, w = 1, h = 1] = this.view;
    if (way === "whole") this.view = [0, 0, shown.width, shown.height];
    else {
      const factor = way === "in" ? 0.7 : 1 / 0.7;
      const [cx = 0, cy = 0] = about || [x + w / 2, y + h / 2];
      const wide = Math.min(shown.width, Math.max(20, w * factor));
      const f = wide / w;
      this.view = [cx - (cx - x) * f, cy - (cy - y) * f, wide, h * f];
    }
    this.svg?.setAttribute("viewBox", this.view.join(" "));
  }
}
customElements.define("particle-editor", ParticleEditor);
