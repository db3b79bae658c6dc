// @ts-check
/** A person's decisions: sent to disk, told; every change of the study taken back and made again. */
import { ask, Refused, say } from "/static/page.js";

/** Add decisions in place of earlier ones; resolves when they are on disk.
 * @param {Record<string, unknown>[]} decisions @param {Record<string, unknown>[]} [replaces] @param {string} [words]
 * @param {Record<string, string>} [baselines] those by hand the page knew of, by file: what others kept meanwhile is not overwritten */
export async function decide(decisions, replaces = [], words = "Saved in adjustments.toml.", baselines = {}) {
  const answer = await ask("/decide", { decisions, replaces, baselines });
  document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
  say(words);
  return answer;
}

/** @typedef {{undo: number, redo: number, undo_what: string, redo_what: string, what?: string}} Standing */

/** Kinds of field in which Ctrl+Z belongs to the text. */
const TEXT = new Set(["text", "number", "search", "email", "url", "tel", "password", "date", "time"]);

/** @param {EventTarget | null} target */
function takesText(target) {
  return target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && TEXT.has(target.type) && !target.readOnly && !target.disabled) || (target instanceof HTMLElement && target.isContentEditable);
}

class TakeBack extends HTMLElement {
  async connectedCallback() {
    this.undo = this.button("Take back", "/undo", "Ctrl+Z");
    this.redo = this.button("Do again", "/redo", "Ctrl+Shift+Z");
    this.next = Object.assign(document.createElement("p"), { className: "next" });
    this.append(this.undo, this.redo, this.next);
    document.addEventListener("decided", (event) => this.show(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("keydown", (event) => this.key(event));
    document.addEventListener("work-state", (event) => {
      const { edition } = /** @type {CustomEvent} */ (event).detail;
      if (edition !== this.edition) { this.edition = edition; this.look(); }
    });
    await this.look();
  }

  /** What can be taken back now; another window may have changed something. */
  async look() {
    const response = await fetch("/decided").catch(() => null);
    if (response?.ok) this.show(await response.json());
  }

  /** @param {string} text @param {string} path @param {string} keys */
  button(text, path, keys) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: text, disabled: true });
    Object.assign(button.dataset, { text, keys });
    button.onclick = () => this.turn(path);
    return button;
  }

  /** One step after the other, also when the keys are pressed fast. @param {string} path */
  turn(path) {
    this.turns = (this.turns || Promise.resolve()).then(() => this.step(path));
    return this.turns;
  }

  /** @param {string} path */
  async step(path) {
    const back = path === "/undo";
    if ((back ? this.undo : this.redo)?.disabled) return;
    try {
      /** @type {Standing} */
      const answer = await ask(path);
      document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
      say(`${back ? "Taken back" : "Done again"}: ${answer.what}.`);
    } catch (error) {
      if (error instanceof Refused && error.movedOn) this.stuck(error.message, back);
    }
  }

  /** Others changed the same thing: it is left, or passed over. @param {string} words @param {boolean} back */
  stuck(words, back) {
    const pass = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "Leave it so, and go on to the step before" });
    if (!back) pass.textContent = "Leave it so, and go on to the next step";
    pass.addEventListener("click", () => {
      this.turns = (this.turns || Promise.resolve()).then(async () => {
        const answer = await ask("/undo/leave", { back }).catch(() => null);
        if (answer) document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
      });
    });
    this.next?.replaceChildren(words, " ", pass);
    this.next?.classList.add("stuck");
  }

  /** @param {Standing} state */
  show(state) {
    for (const [button, number, what] of /** @type {[HTMLButtonElement | undefined, number, string][]} */ ([[this.undo, state.undo, state.undo_what], [this.redo, state.redo, state.redo_what]])) {
      if (!button) continue;
      const { text, keys } = button.dataset;
      button.disabled = number === 0;
      button.title = number ? `${text}: ${what} (${keys})` : `Nothing to ${text?.toLowerCase()}`;
      button.setAttribute("aria-label", number ? `${text}: ${what}` : text || "");
    }
    const same = this.next?.dataset.what === state.undo_what;
    if (!this.next || (same && this.next.classList.contains("stuck") && state.what === undefined)) return;
    this.next.classList.remove("stuck");
    this.next.dataset.what = state.undo_what;
    this.next.textContent = state.undo ? state.undo_what : "";
    this.next.title = state.undo_what;
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    // What is in hand in a tool is not on disk yet: the step before it is not what the person means.
    if (event.target instanceof Element && event.target.closest("[data-keep]")) return;
    if (event.defaultPrevented || takesText(event.target) || !(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    if (key !== "z" && key !== "y") return;
    event.preventDefault();
    this.turn(event.shiftKey || key === "y" ? "/redo" : "/undo");
  }
}
customElements.define("take-back", TakeBack);
