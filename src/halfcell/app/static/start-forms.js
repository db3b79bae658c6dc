// @ts-check
/** Open a study, or make one of dropped files. */
import { ask, say } from "/static/page.js";

class StartForms extends HTMLElement {
  connectedCallback() {
    /** @type {File[]} */
    this.files = [];
    for (const form of this.querySelectorAll("form")) form.addEventListener("submit", (event) => { event.preventDefault(); this.submit(form); });
    for (const button of this.querySelectorAll("[data-open]")) {
      if (button instanceof HTMLElement) button.addEventListener("click", () => this.go("/start/open", { folder: button.dataset.open }));
    }
    const drop = this.querySelector("[data-drop]");
    const input = this.querySelector("input[type=file]");
    if (!(drop instanceof HTMLElement) || !(input instanceof HTMLInputElement)) return;
    drop.addEventListener("click", (event) => { if (event.target !== input) input.click(); });
    drop.addEventListener("keydown", (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); input.click(); } });
    input.addEventListener("change", () => this.take([...(input.files || [])]));
    drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (event) => { event.preventDefault(); drop.classList.remove("over"); this.take([...(event.dataTransfer?.files || [])]); });
  }

  /** @param {File[]} files */
  take(files) {
    const known = new Set(files.map((file) => file.name));
    this.files = [...(this.files || []).filter((file) => !known.has(file.name)), ...files];
    const size = this.files.reduce((sum, file) => sum + file.size, 0);
    const place = this.querySelector("[data-count]");
    if (place) place.textContent = this.files.length ? `${this.files.length} files, ${(size / 1e6).toFixed(1)} MB` : "No files yet.";
  }

  /** @param {HTMLFormElement} form */
  async submit(form) {
    const data = new FormData(form);
    const folder = String(data.get("folder") || "");
    if (form.dataset.form === "open") await this.go("/start/open", { folder }, form);
    else if (form.dataset.form === "make") await this.go("/start/make", { folder, source: String(data.get("source") || "") }, form);
    else await this.drop(folder, form);
  }

  /** @param {string} path @param {unknown} body @param {HTMLFormElement} [form] */
  async go(path, body, form) {
    const button = form?.querySelector("button");
    if (button) button.disabled = true;
    try {
      location.href = (await ask(path, body)).go;
    } catch {
      if (button) button.disabled = false;
    }
  }

  /** @param {string} folder @param {HTMLFormElement} form */
  async drop(folder, form) {
    if (!this.files?.length) { say("Drop or choose files first."); return; }
    const body = new FormData();
    body.append("folder", folder);
    for (const file of this.files) body.append("files", file, file.name);
    const button = form.querySelector("button");
    if (button) { button.disabled = true; button.textContent = "Making the study …"; }
    const response = await fetch("/start/drop", { method: "POST", body }).catch(() => null);
    const answer = response ? await response.json().catch(() => ({})) : {};
    if (response?.ok) { location.href = answer.go; return; }
    say((answer.details || []).join(" ") || answer.problem || "The server does not answer.");
    if (button) { button.disabled = false; button.textContent = "Make the study"; }
  }
}
customElements.define("start-forms", StartForms);
