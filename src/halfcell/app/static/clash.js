// @ts-check
/** What others changed while a person had it in hand: both versions side by side, one of them to be kept. */

import { make } from "/static/make.js";

/** @typedef {{at: string, what: string, yours: string, now: string}} Clash */

/** Show both versions in the place kept for it; it goes when every one is settled.
 * @param {HTMLElement} host @param {Clash[]} clashes @param {(clash: Clash, mine: boolean) => void} choose */
export function showClashes(host, clashes, choose) {
  const place = host.querySelector("[data-clashes]");
  if (!(place instanceof HTMLElement)) return;
  place.hidden = clashes.length === 0;
  if (place.hidden) { place.replaceChildren(); return; }
  const table = make("table", { className: "grid" });
  table.createTHead().append(make("tr", {}, ["", "Yours", "In the folder now", ""].map((text) => make("th", { scope: "col" }, [text]))));
  const body = table.createTBody();
  let left = clashes.length;
  for (const clash of clashes) {
    const cell = make("td");
    const row = make("tr", {}, [make("th", { scope: "row" }, [clash.what]), ...[clash.yours, clash.now].map((text) => make("td", {}, [text || "(empty)"])), cell]);
    for (const [mine, text] of /** @type {[boolean, string][]} */ ([[true, "Keep mine"], [false, "Take the one in the folder"]])) {
      const button = make("button", { type: "button", className: "quiet small", "aria-label": `${text}: ${clash.what}` }, [text]);
      button.addEventListener("click", () => {
        choose(clash, mine);
        row.remove();
        left -= 1;
        if (left === 0) showClashes(host, [], choose);
      });
      cell.append(button, " ");
    }
    body.append(row);
  }
  place.replaceChildren(make("p", {}, ["Changed by another window or by hand while you had it in hand. Nothing was written yet."]), table);
  place.scrollIntoView({ block: "center" });
}
