// @ts-check
/** Files of another day, dropped on the page of a study's files. */
import { FileTaking } from "/static/file-taking.js";

class AddFiles extends FileTaking {
  connectedCallback() {
    this.listen();
    // A file dropped beside the area is meant for it; the browser would leave the page for it.
    this.gone = new AbortController();
    const { signal } = this.gone;
    document.addEventListener("dragover", (event) => { if (event.dataTransfer?.types.includes("Files")) event.preventDefault(); }, { signal });
    document.addEventListener("drop", (event) => {
      if (event.defaultPrevented || !event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      const part = this.querySelector("details");
      if (part) part.open = true;
      this.dropped(event.dataTransfer);
    }, { signal });
  }

  disconnectedCallback() { this.gone?.abort(); }

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
