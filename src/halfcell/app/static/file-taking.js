// @ts-check
/** Files and folders dropped or chosen, listed with what they seem to be, and sent with a bar: what the start and the page of files have in common. */
import { Refused, say } from "/static/page.js";

const SHOWN = 300;
const IMAGES = /\.(png|tiff?|jpe?g)$/i, TEXTS = /\.(csv|txt|dat|tsv|asc|prn|xy|data)$|^[^.]+$/i, SHEETS = /\.(xlsx?|xlsm|ods)$/i, PACKED = /\.(zip|7z|rar|tar|gz)$/i;

/** What a file will be taken for, by its name; the numbers are looked at when it is taken in. @param {string} name @param {number} size */
function seems(name, size) {
  if (!size) return ["empty: it will be put aside", true];
  if (SHEETS.test(name)) return ["a spreadsheet: save its sheets as CSV; this file is only put aside", true];
  if (PACKED.test(name)) return ["an archive: unpack it first; this file is only put aside", true];
  if (IMAGES.test(name)) return ["an image", false];
  if (TEXTS.test(name)) return ["a text: a record or a log of additions", false];
  return ["no export or image: it will be put aside", false];
}

export class FileTaking extends HTMLElement {
  /** The files to take in, by their path below the folder that was dropped. @type {Map<string, File>} */
  files = new Map();

  /** Follow the drop area and its buttons, and each form within. */
  listen() {
    for (const form of this.querySelectorAll("form")) form.addEventListener("submit", (event) => { event.preventDefault(); this.submit(form); });
    for (const button of this.querySelectorAll("[data-choose]")) {
      const input = this.querySelector(`input[data-for="${button instanceof HTMLElement ? button.dataset.choose : ""}"]`);
      if (!(input instanceof HTMLInputElement)) continue;
      button.addEventListener("click", () => input.click());
      input.addEventListener("change", () => { this.take([...(input.files || [])].map((file) => [file.webkitRelativePath || file.name, file])); input.value = ""; });
    }
    this.querySelector("[data-list]")?.addEventListener("click", (event) => {
      const name = event.target instanceof HTMLElement ? event.target.dataset.without : undefined;
      if (name === undefined) return;
      this.files.delete(name);
      this.list();
    });
    const drop = this.querySelector("[data-drop]");
    if (!(drop instanceof HTMLElement)) return;
    drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (event) => { event.preventDefault(); drop.classList.remove("over"); this.dropped(event.dataTransfer); });
  }

  /** Files and folders, with all that is in them. @param {DataTransfer | null} data */
  async dropped(data) {
    const entries = [...(data?.items || [])].map((item) => item.webkitGetAsEntry?.() || null);
    const loose = [...(data?.files || [])];
    /** @type {[string, File][]} */
    const found = [];
    /** @param {FileSystemEntry} entry */
    const walk = async (entry) => {
      if (entry.name.startsWith(".")) return;
      if (entry instanceof FileSystemFileEntry || entry.isFile) found.push([entry.fullPath.replace(/^\//, ""), await new Promise((good, bad) => /** @type {FileSystemFileEntry} */ (entry).file(good, bad))]);
      else {
        const reader = /** @type {FileSystemDirectoryEntry} */ (entry).createReader();
        for (;;) {
          /** @type {FileSystemEntry[]} */
          const some = await new Promise((good, bad) => reader.readEntries(good, bad));
          if (!some.length) break;
          for (const one of some) await walk(one);
        }
      }
    };
    try {
      for (const entry of entries) if (entry) await walk(entry);
    } catch {
      say("Some of what was dropped cannot be read; is it still there?");
    }
    this.take(found.length ? found : loose.map((file) => [file.name, file]));
  }

  /** @param {[string, File][]} files */
  take(files) {
    for (const [path, file] of files) if (!file.name.startsWith(".") && !file.name.startsWith("~$")) this.files.set(path, file);
    this.list();
  }

  list() {
    const all = [...(this.files)];
    const lead = all.length > 1 && all.every(([path]) => path.split("/").length > 1 && path.split("/")[0] === all[0]?.[0].split("/")[0]) ? (all[0]?.[0].split("/")[0] || "").length + 1 : 0;
    // What will be put aside stands first: it wants a look.
    const files = all.sort(([a, x], [b, y]) => Number(seems(y.name, y.size)[1]) - Number(seems(x.name, x.size)[1]) || a.localeCompare(b, undefined, { numeric: true }));
    const size = files.reduce((sum, [, file]) => sum + file.size, 0);
    const count = this.querySelector("[data-count]");
    if (count) count.textContent = files.length ? `${files.length} files, ${(size / 1e6).toFixed(1)} MB` : "No files yet.";
    const rows = files.slice(0, SHOWN).map(([path, file]) => {
      const row = document.createElement("tr"), name = document.createElement("td"), bytes = document.createElement("td"), told = document.createElement("td"), last = document.createElement("td"), out = document.createElement("button");
      const [words, odd] = seems(file.name, file.size);
      name.textContent = path.slice(lead);
      bytes.textContent = file.size < 1e6 ? `${Math.ceil(file.size / 1e3)} kB` : `${(file.size / 1e6).toFixed(1)} MB`;
      told.textContent = String(words);
      told.className = odd ? "odd" : "";
      Object.assign(out, { type: "button", className: "quiet small", textContent: "Leave out" });
      out.dataset.without = path;
      out.setAttribute("aria-label", `Leave ${path} out`);
      last.append(out);
      row.append(name, bytes, told, last);
      return row;
    });
    const place = this.querySelector("[data-list]");
    if (!(place instanceof HTMLElement)) return;
    place.hidden = !files.length;
    place.querySelector("tbody")?.replaceChildren(...rows);
    const more = place.querySelector("[data-more]");
    if (more) more.textContent = files.length > SHOWN ? `and ${files.length - SHOWN} more` : "";
  }

  /** What a form does when it is sent. @param {HTMLFormElement} _form @returns {Promise<void>} */
  async submit(_form) {}

  /** Send the files, with fields more. @param {string} path @param {Record<string, string>} fields @param {HTMLFormElement} form */
  async send(path, fields, form) {
    if (!this.files.size) { this.refuse(form, "Drop or choose files first."); return; }
    const body = new FormData();
    for (const [name, value] of Object.entries(fields)) body.append(name, value);
    for (const [inside, file] of this.files) { body.append("files", file, file.name); body.append("paths", inside); }
    await this.waiting(form, () => this.asked(path, { method: "POST", body }));
  }

  /** Ask for what needs no files sent. @param {string} path @param {unknown} body @param {HTMLFormElement} form */
  async tell(path, body, form) {
    await this.waiting(form, () => this.asked(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }));
  }

  /** The server's answer; its refusal is thrown in its words. @param {string} path @param {RequestInit} how @returns {Promise<{go: string}>} */
  async asked(path, how) {
    const response = await fetch(path, how).catch(() => null);
    const text = response ? await response.text().catch(() => "") : "";
    /** @type {any} */
    let answer = {};
    try { answer = JSON.parse(text); } catch { answer = { problem: text.startsWith("<") ? "" : text.slice(0, 400) }; }
    if (response?.ok) return answer;
    throw new Refused((answer.details || []).join(" ") || answer.problem || "The server does not answer. A file that was changed or moved since it was dropped cannot be sent: drop it again.");
  }

  /** Why it was not done, beside the button and until the next try. @param {HTMLFormElement} form @param {string} words */
  refuse(form, words) {
    const place = form.querySelector("[data-making]");
    place?.replaceChildren(Object.assign(document.createElement("p"), { className: "wrong", textContent: words }));
    place?.scrollIntoView({ block: "nearest" });
  }

  /** Show how far it is while it lasts; then go on. @param {HTMLFormElement} form @param {() => Promise<{go: string}>} work */
  async waiting(form, work) {
    const button = form.querySelector("button[type=submit]"), place = form.querySelector("[data-making]");
    if (button instanceof HTMLButtonElement) button.disabled = true;
    const bar = document.createElement("progress"), words = document.createElement("p");
    bar.setAttribute("aria-label", form.dataset.doing || "Taking the files in");
    words.textContent = "Copying the files …";
    place?.replaceChildren(words, bar);
    place?.scrollIntoView({ block: "nearest" });
    const look = setInterval(async () => {
      const now = await fetch("/start/making").then((r) => r.json()).catch(() => null);
      if (!now?.of) return;
      words.textContent = `${now.step}: ${now.done} of ${now.of}`;
      bar.max = now.of;
      bar.value = now.done;
    }, 300);
    try {
      location.href = (await work()).go;
    } catch (error) {
      place?.replaceChildren();
      if (error instanceof Error) this.refuse(form, error.message);
      if (button instanceof HTMLButtonElement) button.disabled = false;
    } finally {
      clearInterval(look);
    }
  }
}
