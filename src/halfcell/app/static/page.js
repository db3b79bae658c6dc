// @ts-check
/** What every page has: the live state of the work, and a way to speak to the person. */

import { handUp } from "/static/hand.js";

/** @typedef {{state: string, step: string, done: number, of: number, problem: string, edition: string, analysed: string, problems: number}} State */

/** What the server refused, in its words, which the person has been shown already. */
export class Refused extends Error {
  /** @param {string} words @param {{clashes?: import("/static/clash.js").Clash[], moved_on?: boolean}} [answer] */
  constructor(words, answer = {}) {
    super(words);
    this.clashes = answer.clashes || [];
    this.movedOn = Boolean(answer.moved_on);
  }
}
// A tool that did not save keeps what it has in hand; the words were shown.
window.addEventListener("unhandledrejection", (event) => { if (event.reason instanceof Refused) event.preventDefault(); });

/** Say something in the corner for a while. @param {string} text */
export function say(text) {
  const place = document.getElementById("said");
  if (!place) return;
  place.className = "";
  place.textContent = text;
  setTimeout(() => { if (place.textContent === text) place.textContent = ""; }, 6000);
}

/** Say what went wrong; it stays until it is read or something succeeds. @param {string} text */
export function warn(text) {
  const place = document.getElementById("said");
  if (!place) return;
  const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "I have read it" });
  button.addEventListener("click", () => { place.replaceChildren(); place.className = ""; });
  place.className = "failed";
  place.replaceChildren(Object.assign(document.createElement("p"), { textContent: text }), button);
}

/** Ask the server to do something; its words are shown when it refuses.
 * @param {string} path @param {unknown} [body] @returns {Promise<any>} */
export async function ask(path, body = {}) {
  const response = await fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }).catch(() => null);
  if (!response) {
    warn("The program does not answer: this was not saved. What you have in hand stays on this page; save it again when the program is back.");
    throw new Refused("no answer");
  }
  const answer = await response.json().catch(() => ({ problem: response.status === 403 ? "The program was started anew: open the address it printed, in this browser. This was not saved; what you have in hand stays on this page." : "The program gave no answer that can be read." }));
  if (!response.ok) {
    const details = (answer.details || []).join(" ");
    const words = details || answer.problem || "That did not work.";
    // What the tool itself shows on from here is said for a while only.
    if (answer.clashes || answer.moved_on) say(words); else warn(words);
    throw new Refused(words, answer);
  }
  const place = document.getElementById("said");
  if (place?.className === "failed" && !path.endsWith("/try")) { place.replaceChildren(); place.className = ""; }
  return answer;
}

let turns = 0, decided = 0;
document.addEventListener("decided", () => { decided += 1; });

/** Lay the newest page over this one without losing the place, the focus or what a person is doing.
 * An element with data-stay stays as it is; it is given the newer data-start and told by a "renewed" event. */
export async function renew() {
  const turn = (turns += 1), before = decided;
  const response = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!response || turn !== turns) return;
  const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
  await handUp();
  if (turn !== turns) return;
  if (before !== decided) { await renew(); return; } // it is of before what was decided here meanwhile
  if (document.querySelector("main [data-keep]:not([data-stay])")) return; // taken in hand while the page was on its way
  const main = document.querySelector("main");
  const newer = fresh.querySelector("main");
  if (!main || !newer) return;
  if (scriptsOf(fresh).some((source) => !scriptsOf(document).includes(source))) { location.reload(); return; }
  const focused = document.activeElement;
  const open = [...main.querySelectorAll("details")].map((d) => d.open);
  /** @type {HTMLElement[]} */
  const stayed = [];
  for (const place of newer.querySelectorAll("[data-stay]")) {
    const old = place.id ? document.getElementById(place.id) : main.querySelector(place.localName);
    if (!(place instanceof HTMLElement) || !(old instanceof HTMLElement) || old.localName !== place.localName) continue;
    old.dataset.start = place.dataset.start || "";
    place.replaceWith(old);
    stayed.push(old);
  }
  main.replaceChildren(...newer.childNodes);
  [...main.querySelectorAll("details")].forEach((d, i) => { if (open[i]) d.open = true; });
  document.title = fresh.title;
  document.querySelector(".rail .home")?.replaceChildren(...(fresh.querySelector(".rail .home")?.childNodes || []));
  document.body.dataset.edition = fresh.body.dataset.edition;
  document.body.dataset.analysed = fresh.body.dataset.analysed;
  if (focused instanceof HTMLElement && focused !== document.body) {
    const same = focused.isConnected ? focused : focused.id ? document.getElementById(focused.id) : null;
    if (same && same !== document.activeElement) same.focus({ preventScroll: true });
  }
  for (const element of stayed) element.dispatchEvent(new CustomEvent("renewed"));
}

/** @param {Document} page */
function scriptsOf(page) {
  return [...page.querySelectorAll("script[src]")].map((script) => script.getAttribute("src"));
}

class WorkState extends HTMLElement {
  connectedCallback() {
    window.addEventListener("pagehide", () => { this.leaving = true; });
    this.listen();
  }

  listen() {
    const socket = new WebSocket(`ws://${location.host}/live`);
    socket.onmessage = async (event) => { await handUp(); this.show(JSON.parse(event.data)); };
    socket.onclose = () => this.lost();
  }

  /** Say why there is no word from the server, and go on when it is back; a line that broke for a moment is no news. */
  async lost() {
    if (this.leaving) return;
    const response = await fetch("/decided").catch(() => null);
    if (this.leaving) return;
    if (!response || response.status === 403) {
      this.dataset.state = "lost";
      this.textContent = response ? "The program was started anew." : "The program has stopped.";
      document.body.dataset.lost = "";
      this.stopped(response !== null);
    }
    setTimeout(() => this.listen(), 1500);
  }

  /** The calm words over the page while there is no server. @param {boolean} anew */
  stopped(anew) {
    const banner = document.getElementById("stopped");
    if (!banner || banner.dataset.anew === String(anew)) return;
    banner.dataset.anew = String(anew);
    const words = document.createElement("p");
    if (anew) words.textContent = "The program was started anew. Open the address it printed, in this browser: this page then goes on with what you were doing.";
    else {
      const command = Object.assign(document.createElement("code"), { textContent: this.dataset.again || "halfcell serve" });
      words.append("The program has stopped. What you decided is saved, and what you have in hand stays on this page. Start it again with ", command, " and open the address it prints; this page then goes on by itself.");
    }
    banner.replaceChildren(words);
    if (!anew) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet small", textContent: "Copy the command" });
      button.addEventListener("click", async () => { await navigator.clipboard.writeText(this.dataset.again || "").catch(() => null); button.textContent = "Copied"; });
      banner.append(button);
    }
    banner.hidden = false;
  }

  /** @param {State} state */
  show(state) {
    document.dispatchEvent(new CustomEvent("work-state", { detail: state }));
    this.dataset.state = state.state === "done" && state.edition !== state.analysed ? "behind" : state.state;
    if (state.state === "working" && this.progress(state)) return;
    this.replaceChildren();
    if (state.state === "working") {
      const label = document.createElement("label");
      const bar = document.createElement("progress");
      bar.setAttribute("aria-label", "Progress of the analysis");
      label.append(document.createElement("span"), bar);
      this.append(label, this.button("Stop", "/stop"));
      this.progress(state);
    } else if (state.state === "stopped" || state.state === "failed") {
      const words = document.createElement("p");
      words.textContent = state.problem;
      this.append(words, this.button("Analyse again", "/again"));
    }
    if (state.problems && !document.querySelector(".steps")) this.append(Object.assign(document.createElement("a"), { href: "/", className: "mistakes", textContent: `The folder has ${state.problems} mistake${state.problems > 1 ? "s" : ""}: look` }));
    this.follow(state);
  }

  /** Progress in the bar that is there, so that the button beside it can be pressed. @param {State} state */
  progress(state) {
    const [words, bar] = [this.querySelector("label span"), this.querySelector("progress")];
    if (!words || !bar) return false;
    words.textContent = state.of ? `${state.step}: ${state.done} of ${state.of}` : state.step;
    if (state.of) { bar.max = state.of; bar.value = state.done; } else bar.removeAttribute("value");
    this.follow(state);
    return true;
  }

  /** Renew the page when the study or its numbers changed, unless a person has something in hand. @param {State} state */
  follow(state) {
    const seen = document.body.dataset;
    const back = seen.lost !== undefined;
    delete seen.lost;
    if (back) {
      const banner = document.getElementById("stopped");
      if (banner) { banner.hidden = true; delete banner.dataset.anew; }
      document.dispatchEvent(new CustomEvent("server-back"));
    }
    if (seen.analysed === state.analysed && seen.edition === state.edition) return;
    const edited = seen.edition !== state.edition;
    seen.analysed = state.analysed;
    seen.edition = state.edition;
    if (!document.querySelector("[data-keep]")) renew();
    else if (edited && !location.pathname.startsWith("/start") && !this.querySelector(".meanwhile")) this.append(Object.assign(document.createElement("p"), { className: "meanwhile", textContent: "The study changed meanwhile. What you have in hand here is kept; the rest of the page follows when you keep it or leave it." }));
  }

  /** @param {string} text @param {string} path */
  button(text, path) {
    const button = document.createElement("button");
    button.className = "quiet";
    button.textContent = text;
    button.onclick = () => ask(path);
    return button;
  }
}
customElements.define("work-state", WorkState);
