// @ts-check
/** How a file is read, corrected by pointing. */
import { ask, say } from "/static/page.js";

class ReadingForm extends HTMLElement {
  connectedCallback() {
    this.querySelector("[data-try]")?.addEventListener("click", () => this.attempt());
    this.querySelector("[data-keep-it]")?.addEventListener("click", () => this.keep());
  }

  /** @param {string} id */
  field(id) {
    const field = this.querySelector(`#${id}`);
    return field instanceof HTMLInputElement || field instanceof HTMLSelectElement ? field.value : "";
  }

  asked() {
    /** @type {Record<string, number>} */
    const columns = {};
    /** @type {Record<string, string>} */
    const units = {};
    for (const select of this.querySelectorAll("select[data-role]")) {
      if (!(select instanceof HTMLSelectElement) || !select.value) continue;
      columns[select.value] = Number(select.dataset.role);
      const unit = this.querySelector(`[data-unit="${select.dataset.role}"]`);
      if (unit instanceof HTMLInputElement && unit.value.trim()) units[select.value] = unit.value.trim();
    }
    const skip = this.field("skip");
    return { files: this.field("files"), columns, units, delimiter: this.field("delimiter"), decimal: this.field("decimal"), skip: skip ? Number(skip) : null };
  }

  async attempt() {
    const answer = await ask(`/reading/try?file=${encodeURIComponent(this.dataset.file || "")}`, this.asked());
    const place = this.querySelector("[data-told]");
    if (!place) return;
    place.className = answer.problem ? "wrong" : "note";
    place.textContent = answer.problem || `${answer.samples} samples${answer.cycles > 1 ? ` in ${answer.cycles} cycles` : ""} read. ${answer.files} files have such names. ${answer.assumed.join(" ")}`;
  }

  async keep() {
    const answer = await ask("/reading/keep", this.asked());
    say("Kept in study.toml.");
    location.href = answer.go;
  }
}
customElements.define("reading-form", ReadingForm);
