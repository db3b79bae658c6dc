// @ts-check
/** How wide and how finely figures are saved and copied; it is remembered in this browser. */
import { say } from "/static/page.js";

/** @typedef {{width: string, dpi: string}} Size */

class FigureSize extends HTMLElement {
  connectedCallback() {
    if (this.ready) return;
    this.ready = true;
    for (const field of this.fields()) {
      const kept = localStorage.getItem(`figure ${field.dataset.size}`);
      if (kept) field.value = kept;
      field.addEventListener("change", () => {
        if (!field.checkValidity()) { say(`Between ${field.min} and ${field.max}, please.`); return; }
        localStorage.setItem(`figure ${field.dataset.size}`, field.value);
        this.stamp();
      });
    }
    this.stamp();
    new MutationObserver(() => this.stamp()).observe(document.getElementById("main") || document.body, { childList: true });
    document.addEventListener("click", (event) => {
      if (event.target instanceof HTMLButtonElement && event.target.dataset.copyFigure !== undefined) copy(event.target.dataset.copyFigure, this.size());
    });
  }

  fields() { return [...this.querySelectorAll("input")].filter((field) => field.dataset.size); }

  /** @returns {Size} */
  size() {
    /** @type {Size} */
    const size = { width: "160", dpi: "300" };
    for (const field of this.fields()) if (field.checkValidity() && field.value) size[field.dataset.size === "dpi" ? "dpi" : "width"] = field.value;
    return size;
  }

  /** Every link that saves a figure says the size. */
  stamp() {
    const { width, dpi } = this.size();
    for (const said of document.querySelectorAll("[data-size-said]")) said.textContent = `${width} mm wide, ${dpi} dots an inch`;
    for (const link of document.querySelectorAll(".save a[download]")) {
      if (!(link instanceof HTMLAnchorElement)) continue;
      const url = new URL(link.href);
      for (const [name, value] of Object.entries({ width, dpi })) url.searchParams.set(name, value);
      link.href = url.href;
    }
  }
}

/** Put a figure on the clipboard as an image. @param {string} key @param {Size} size */
async function copy(key, size) {
  const image = fetch(`/figure?key=${encodeURIComponent(key)}&form=png&width=${size.width}&dpi=${size.dpi}`).then((response) => {
    if (!response.ok) throw new Error("no figure");
    return response.blob();
  });
  try {
    await navigator.clipboard.write([new ClipboardItem({ "image/png": image })]);
    say("The figure is on the clipboard.");
  } catch { say("The browser did not take the figure; save it as PNG instead."); }
}
customElements.define("figure-size", FigureSize);
