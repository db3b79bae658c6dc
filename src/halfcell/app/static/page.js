// @ts-check
/** What every page has: the live state of the work, and a way to speak to the person. */

/** @typedef {{state: string, step: string, done: number, of: number, problem: string, edition: string, analysed: string, problems: number}} State */

/** Say something in the corner for a while. @param {string} text */
export function say(text) {
  const place = document.getElementById("said");
  if (!place) return;
  place.textContent = text;
  setTimeout(() => { if (place.textContent === text) place.textContent = ""; }, 6000);
}

/** Ask the server to do something; its words are shown when it refuses.
 * @param {string} path @param {unknown} [body] @returns {Promise<any>} */
export async function ask(path, body = {}) {
  const response = await fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }).catch(() => null);
  if (!response) {
    say("The server does not answer: this was not saved. Try it again when it is back.");
    throw new Error("no answer");
  }
  const answer = await response.json().catch(() => ({ problem: "The server gave no answer that can be read." }));
  if (!response.ok) {
    const details = (answer.details || []).join(" ");
    say(details || answer.problem || "That did not work.");
    throw new Error(answer.problem);
  }
  return answer;
}

let turns = 0;

/** Lay the newest page over this one without losing the place, the focus or what a person is doing.
 * An element with data-stay stays as it is; it is given the newer data-start and told by a "renewed" event. */
export async function renew() {
  const turn = (turns += 1);
  const response = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!response || turn !== turns) return;
  const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
  const main = document.querySelector("main");
  const newer = fresh.querySelector("main");
  if (!main || !newer) return;
  if (scriptsOf(fresh).some((source) => !scriptsOf(document).includes(source))) { location.reload(); return; }
  const focused = document.activeElement;
  const open = [...main.querySelectorAll("details")].map((d) => d.open);
  /** @type {HTMLElement[]} */
  const stayed = [];
  for (const place of newer.querySelectorAll("[data-stay]")) {
    const old = main.querySelector(place.localName);
    if (!(place instanceof HTMLElement) || !(old instanceof HTMLElement)) continue;
    old.dataset.start = place.dataset.start || "";
    place.replaceWith(old);
    stayed.push(old);
  }
  main.replaceChildren(...newer.childNodes);
  [...main.querySelectorAll("details")].forEach((d, i) => { if (open[i]) d.open = true; });
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
  connectedCallback() { this.listen(); }

  listen() {
    const socket = new WebSocket(`ws://${location.host}/live`);
    socket.onmessage = (event) => this.show(JSON.parse(event.data));
    socket.onclose = () => this.lost();
  }

  /** Say why there is no word from the server, and go on when it is back. */
  async lost() {
    const response = await fetch("/decided").catch(() => null);
    this.dataset.state = "lost";
    this.textContent = response?.status === 403
      ? "The server was started anew. Open the address it printed, in this browser; this page then goes on with what you were doing."
      : "The server does not answer. What was saved is on disk; this page goes on when it is back.";
    document.body.dataset.lost = "";
    setTimeout(() => this.listen(), 1500);
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
    if (back) document.dispatchEvent(new CustomEvent("server-back"));
    if (seen.analysed === state.analysed && seen.edition === state.edition) return;
    seen.analysed = state.analysed;
    seen.edition = state.edition;
    if (!document.querySelector("[data-keep]")) renew();
    else if (!location.pathname.startsWith("/start") && !this.querySelector(".meanwhile")) this.append(Object.assign(document.createElement("p"), { className: "meanwhile", textContent: "The study changed meanwhile. What you have in hand here is kept; the rest of the page follows when you keep it or leave it." }));
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
