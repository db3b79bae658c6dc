// @ts-check
/** Choose the parts of the report, see it, save it. */
import { ask, say } from "/static/page.js";

class ReportMaker extends HTMLElement {
  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    const form = this.querySelector("form");
    form?.addEventListener("submit", (event) => { event.preventDefault(); this.save(); });
    this.querySelector("[data-figures]")?.addEventListener("submit", (event) => { event.preventDefault(); this.figures(); });
    this.querySelector("[data-see]")?.addEventListener("click", () => this.see());
    this.querySelector("[data-copy]")?.addEventListener("click", () => this.copy());
  }

  parts() {
    const boxes = [...this.querySelectorAll("input[name=part]")];
    return boxes.flatMap((box) => (box instanceof HTMLInputElement && box.checked ? [box.value] : []));
  }

  see() {
    const parts = this.parts();
    const frame = this.querySelector("iframe");
    if (!parts.length || !frame) { say("Choose at least one part."); return; }
    frame.hidden = false;
    frame.src = `/report/page?${parts.map((part) => `part=${encodeURIComponent(part)}`).join("&")}`;
  }

  async save() {
    const parts = this.parts();
    if (!parts.length) { say("Choose at least one part."); return; }
    const place = this.querySelector("[data-saved]");
    const button = this.querySelector("button[type=submit]");
    if (!place || !(button instanceof HTMLButtonElement)) return;
    button.disabled = true;
    place.textContent = "Writing the report …";
    try {
      const answer = await ask("/report/save", { parts });
      place.textContent = `Saved in ${answer.folder}: `;
      for (const name of answer.files) {
        const link = document.createElement("a");
        link.href = `/report/file/${encodeURIComponent(name)}`;
        link.textContent = name;
        place.append(link, " ");
      }
      for (const problem of answer.problems) place.append(document.createElement("br"), problem);
    } catch {
      place.textContent = "The report was not saved.";
    } finally {
      button.disabled = false;
    }
  }

  /** @param {string} id */
  field(id) {
    const field = this.querySelector(id);
    return field instanceof HTMLInputElement || field instanceof HTMLSelectElement ? field.value : "";
  }

  async figures() {
    const place = this.querySelector("[data-figures-saved]");
    const button = this.querySelector("[data-figures] button");
    if (!place || !(button instanceof HTMLButtonElement)) return;
    button.disabled = true;
    place.textContent = "Drawing every figure: this takes some minutes for a large study …";
    try {
      const answer = await ask("/report/figures", { form: this.field("#figures-form"), width: Number(this.field("#figures-width")), dpi: Number(this.field("#figures-dpi")) });
      place.textContent = [`${answer.count} figures are in ${answer.folder}.`, ...answer.problems].join(" ");
    } catch {
      place.textContent = "The figures were not saved.";
    } finally {
      button.disabled = false;
    }
  }

  async copy() {
    await navigator.clipboard.writeText(document.querySelector("[data-methods]")?.textContent || "");
    say("The methods text is on the clipboard.");
  }
}
customElements.define("report-maker", ReportMaker);
