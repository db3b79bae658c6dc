// @ts-check
/** A button beside each table that copies it for a spreadsheet. */
import { say } from "/static/page.js";

/** @param {HTMLTableElement} table */
function asText(table) {
  return [...table.rows].map((row) => [...row.cells].map((cell) => (cell.textContent || "").trim().replace(/\s+/g, " ")).join("\t")).join("\n");
}

function offer() {
  for (const table of document.querySelectorAll("table.copyable:not([data-offered])")) {
    if (!(table instanceof HTMLTableElement)) continue;
    table.dataset.offered = "";
    const button = document.createElement("button");
    button.className = "quiet small";
    button.textContent = "Copy table";
    button.onclick = async () => {
      await navigator.clipboard.writeText(asText(table));
      say("The table is on the clipboard.");
    };
    table.closest(".tablebox")?.append(button);
  }
}
offer();
new MutationObserver(offer).observe(document.getElementById("main") || document.body, { childList: true });
