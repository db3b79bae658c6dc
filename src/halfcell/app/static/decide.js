// @ts-check
/** A person's decisions: sent to disk, taken back, told. */
import { ask, say } from "/static/page.js";

/** Add decisions in place of earlier ones; resolves when they are on disk.
 * @param {Record<string, unknown>[]} decisions @param {Record<string, unknown>[]} [replaces] @param {string} [words] */
export async function decide(decisions, replaces = [], words = "Saved in adjustments.toml.") {
  const answer = await ask("/decide", { decisions, replaces });
  document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
  say(words);
  return answer;
}

class TakeBack extends HTMLElement {
  async connectedCallback() {
    this.undo = this.button("Take back", "/undo", "Ctrl+Z");
    this.redo = this.button("Do again", "/redo", "Ctrl+Shift+Z");
    this.append(this.undo, this.redo);
    document.addEventListener("decided", (event) => this.show(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("keydown", (event) => this.key(event));
    document.addEventListener("work-state", (event) => {
      const { edition } = /** @type {CustomEvent} */ (event).detail;
      if (edition !== this.edition) { this.edition = edition; this.look(); }
    });
    await this.look();
  }

  /** What can be taken back now; another window may have decided something. */
  async look() {
    const response = await fetch("/decided").catch(() => null);
    if (response?.ok) this.show(await response.json());
  }

  /** @param {string} text @param {string} path @param {string} keys */
  button(text, path, keys) {
    const button = document.createElement("button");
    button.className = "quiet small";
    button.textContent = text;
    button.title = keys;
    button.disabled = true;
    button.onclick = async () => {
      try {
        const answer = await ask(path);
        document.dispatchEvent(new CustomEvent("decided", { detail: answer }));
        say(path === "/undo" ? "Taken back." : "Done again.");
      } catch { /* the words were shown */ }
    };
    return button;
  }

  /** @param {{undo: number, redo: number}} state */
  show(state) {
    if (this.undo) this.undo.disabled = state.undo === 0;
    if (this.redo) this.redo.disabled = state.redo === 0;
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const inField = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
    if (inField || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
    event.preventDefault();
    (event.shiftKey ? this.redo : this.undo)?.click();
  }
}
customElements.define("take-back", TakeBack);
