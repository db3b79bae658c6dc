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
  const response = await fetch(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
  const answer = await response.json().catch(() => ({ problem: "The server gave no answer that can be read." }));
  if (!response.ok) {
    const details = (answer.details || []).join(" ");
    say(details || answer.problem || "That did not work.");
    throw new Error(answer.problem);
  }
  return answer;
}

/** Lay the newest page over this one without losing the place, the focus or what a person is doing.
 * An element with data-stay stays as it is; it is given the newer data-start and told by a "renewed" event. */
export async function renew() {
  const response = await fetch(location.href, { headers: { accept: "text/html" } });
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
    socket.onclose = () => {
      this.textContent = "The server does not answer. What was saved is on disk; this page goes on when it is back.";
      setTimeout(() => this.listen(), 1500);
    };
  }

  /** @param {State} state */
  show(state) {
    document.dispatchEvent(new CustomEvent("work-state", { detail: state }));
    this.replaceChildren();
    this.dataset.state = state.edition === state.analysed ? state.state : state.state === "done" ? "behind" : state.state;
    if (state.state === "working") {
      const label = document.createElement("label");
      label.textContent = state.of ? `${state.step}: ${state.done} of ${state.of}` : state.step;
      const bar = document.createElement("progress");
      bar.setAttribute("aria-label", "Progress of the analysis");
      if (state.of) { bar.max = state.of; bar.value = state.done; }
      label.append(bar);
      this.append(label, this.button("Stop", "/stop"));
    } else if (state.state === "stopped" || state.state === "failed") {
      const words = document.createElement("p");
      words.textContent = state.problem;
      this.append(words, this.button("Analyse again", "/again"));
    }
    const seen = document.body.dataset;
    if (seen.analysed !== state.analysed || seen.edition !== state.edition) {
      seen.analysed = state.analysed;
      seen.edition = state.edition;
      if (!document.querySelector("[data-keep]")) renew();
    }
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
