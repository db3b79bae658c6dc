// @ts-check
/** Open a study, or make one of dropped files and folders. */
import { ask } from "/static/page.js";
import { FileTaking } from "/static/file-taking.js";

class StartForms extends FileTaking {
  connectedCallback() {
    this.listen();
    for (const button of this.querySelectorAll("[data-open]")) {
      if (button instanceof HTMLElement) button.addEventListener("click", () => this.go("/start/open", { folder: button.dataset.open }));
    }
  }

  /** @param {HTMLFormElement} form */
  async submit(form) {
    const data = new FormData(form);
    const folder = String(data.get("folder") || "");
    if (form.dataset.form === "open") await this.go("/start/open", { folder }, form);
    else if (form.dataset.form === "make") await this.tell("/start/make", { folder, source: String(data.get("source") || "") }, form);
    else await this.send("/start/drop", { folder }, form);
  }

  /** @param {string} path @param {unknown} body @param {HTMLFormElement} [form] */
  async go(path, body, form) {
    const button = form?.querySelector("button[type=submit]");
    if (button instanceof HTMLButtonElement) button.disabled = true;
    try {
      location.href = (await ask(path, body)).go;
    } catch {
      if (button instanceof HTMLButtonElement) button.disabled = false;
    }
  }
}
customElements.define("start-forms", StartForms);
