// @ts-check
/** A bar while the server reads files; then the page that was asked for. Leaving the page ends the reading. */
import { make } from "/static/make.js";
import { renew } from "/static/page.js";

/** @typedef {{step?: string, done?: number, of?: number, read?: boolean}} Told */

class FilesLook extends HTMLElement {
  connectedCallback() {
    this.left = new AbortController();
    document.addEventListener("server-back", () => this.look(), { signal: this.left.signal });
    this.look();
  }

  disconnectedCallback() { this.left?.abort(); }

  async look() {
    const { left } = this;
    try {
      const response = await fetch(this.dataset.way || "", { signal: left?.signal });
      const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader();
      let rest = "";
      for (let part = await reader?.read(); response.ok && part && !part.done; part = await reader?.read()) {
        const lines = (rest + part.value).split("\n");
        rest = lines.pop() || "";
        const last = lines.pop();
        if (last && this.tell(JSON.parse(last))) { await renew(); return; }
      }
    } catch { /* left, or the server ended; said below */ }
    if (left?.signal.aborted) return;
    const button = make("button", { type: "button", className: "quiet small", textContent: "Go on" });
    button.addEventListener("click", () => this.look());
    const words = this.querySelector("[data-words]");
    words?.replaceChildren("The reading was cut off; what was read stays read. ", button);
  }

  /** Show how far it is; true at the end. @param {Told} told */
  tell(told) {
    const words = this.querySelector("[data-words]"), bar = this.querySelector("progress");
    if (words && bar && told.of) {
      words.textContent = `${told.step}: ${told.done} of ${told.of}`;
      bar.max = told.of;
      bar.value = told.done || 0;
    }
    return Boolean(told.read);
  }
}
customElements.define("files-look", FilesLook);
