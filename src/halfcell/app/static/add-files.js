// @ts-check
/** Files of another day, dropped on the page of a study's files. */
import { FileTaking } from "/static/file-taking.js";

class AddFiles extends FileTaking {
  connectedCallback() {
    this.listen();
  }

  /** Files that were chosen stay in hand: the page is not renewed under them. */
  list() {
    super.list();
    this.toggleAttribute("data-keep", this.files.size > 0);
  }

  /** @param {HTMLFormElement} form */
  async submit(form) {
    const data = new FormData(form);
    const below = String(data.get("below") || "");
    if (form.dataset.form === "from") await this.tell("/files/from", { below, source: String(data.get("source") || "") }, form);
    else await this.send("/files/drop", { below }, form);
  }
}
customElements.define("add-files", AddFiles);
