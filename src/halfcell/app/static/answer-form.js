// @ts-check
/** Answers to what a study lacks, written into its files. */
import { ask, renew, say } from "/static/page.js";

class AnswerForm extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => {
      const button = event.target;
      if (!(button instanceof HTMLButtonElement)) return;
      if (button.matches("[data-fill]")) this.fill(button);
      if (button.matches("[data-save]")) this.save();
    });
    this.addEventListener("input", () => { this.dataset.keep = ""; });
    this.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target instanceof HTMLInputElement) this.save(); });
  }

  /** @param {HTMLButtonElement} button */
  fill(button) {
    const all = button.parentElement?.querySelector("[data-all]");
    if (!(all instanceof HTMLInputElement) || !all.value.trim()) { say("Write the answer first."); return; }
    for (const field of button.closest("section")?.querySelectorAll("[data-key]") || []) {
      if (field instanceof HTMLInputElement && !field.value) field.value = all.value.trim();
    }
  }

  async save() {
    const fields = [...this.querySelectorAll("[data-key]")].flatMap((field) => (field instanceof HTMLInputElement && field.value.trim() ? [field] : []));
    if (!fields.length) { say("Nothing is filled in yet."); return; }
    const answers = fields.map((field) => ({ key: field.dataset.key, row: Number(field.dataset.row), column: field.dataset.column, value: field.value.trim() }));
    await ask("/start/answer", { answers });
    delete this.dataset.keep;
    say(`${answers.length} answers saved.`);
    await renew();
  }
}
customElements.define("answer-form", AnswerForm);
