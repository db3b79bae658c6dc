// @ts-check
/** What others changed while a person had it in hand: both versions side by side, one of them to be kept. */

/** @typedef {{at: string, what: string, yours: string, now: string}} Clash */

/** Show both versions in the place kept for it; it goes when every one is settled.
 * @param {HTMLElement} host @param {Clash[]} clashes @param {(clash: Clash, mine: boolean) => void} choose */
export function showClashes(host, clashes, choose) {
  const place = host.querySelector("[data-clashes]");
  if (!(place instanceof HTMLElement)) return;
  place.hidden = clashes.length === 0;
  if (place.hidden) { place.replaceChildren(); return; }
  const table = Object.assign(document.createElement("table"), { className: "grid" });
  const head = document.createElement("tr");
  head.append(...["", "Yours", "In the folder now", ""].map((text) => Object.assign(document.createElement("th"), { textContent: text, scope: "col" })));
  table.createTHead().append(head);
  const body = table.createTBody();
  let left = clashes.length;
  for (const clash of clashes) {
    const row = document.createElement("tr");
    row.append(Object.assign(document.createElement("th"), { textContent: clash.what, scope: "row" }));
    row.append(...[clash.yours, clash.now].map((text) => Object.assign(document.createElement("td"), { textContent: text || "(empty)" })));
    const cell = document.createElement("td");
    for (const [mine, text] of /** @type {[boolean, string][]} */ ([[true, "Keep mine"], [false, "Take the one in the folder"]])) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: text });
      button.setAttribute("aria-label", `${text}: ${clash.what}`);
      button.addEventListener("click", () => {
        choose(clash, mine);
        row.remove();
        left -= 1;
        if (left === 0) showClashes(host, [], choose);
      });
      cell.append(button, " ");
    }
    row.append(cell);
    body.append(row);
  }
  const words = Object.assign(document.createElement("p"), { textContent: "Changed by another window or by hand while you had it in hand. Nothing was written yet." });
  place.replaceChildren(words, table);
  place.scrollIntoView({ block: "center" });
}
