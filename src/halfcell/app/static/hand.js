// @ts-check
/** Nothing changes under a person's hand: what arrives while something is pressed waits until it is let go, and what stays the same stays the same element. */

/** What is pressed now: pointers by number, and the space bar, with what they press. @type {Map<number | string, EventTarget | null>} */
const pressed = new Map();
/** @type {(() => void)[]} */
let waiting = [];

/** Resolves when nothing is pressed and the click that ended the press is done; at once where nothing is, or only what ``follows``:
 * a selector of what is moved by hand for the page to follow. @param {string} [follows] @returns {Promise<void>} */
export function handUp(follows = "") {
  const held = [...pressed.values()].some((target) => !(follows && target instanceof Element && target.matches(follows)));
  return held ? new Promise((good) => { waiting.push(good); }) : Promise.resolve();
}

/** @param {number | string} what */
function letGo(what) {
  pressed.delete(what);
  if (pressed.size) return;
  const all = waiting;
  waiting = [];
  for (const good of all) good();
}

function letAllGo() { for (const what of [...pressed.keys()]) letGo(what); }

window.addEventListener("pointerdown", (event) => { if (event.button === 0) pressed.set(event.pointerId, event.target); }, true);
// The click comes after the pointer is up: at once by mouse, somewhat later by touch.
window.addEventListener("pointerup", (event) => { setTimeout(() => letGo(event.pointerId), event.pointerType === "mouse" ? 0 : 400); }, true);
window.addEventListener("pointercancel", (event) => letGo(event.pointerId), true);
window.addEventListener("dragend", letAllGo, true);
// A release that was not seen, such as one outside the window.
window.addEventListener("pointermove", (event) => { if (event.pointerType === "mouse" && event.buttons === 0 && pressed.has(event.pointerId)) setTimeout(() => letGo(event.pointerId), 0); }, true);
window.addEventListener("keydown", (event) => { if (event.key === " ") pressed.set(" ", event.target); }, true);
window.addEventListener("keyup", (event) => { if (event.key === " ") setTimeout(() => letGo(" "), 0); }, true);
// An opened list of choices keeps the release to itself: its end is a choice, or a key.
window.addEventListener("change", (event) => { if (event.target instanceof HTMLSelectElement) setTimeout(letAllGo, 0); }, true);
window.addEventListener("keyup", (event) => { if (["Enter", "Escape", "Tab"].includes(event.key)) letAllGo(); }, true);
window.addEventListener("blur", letAllGo);
document.addEventListener("visibilitychange", letAllGo);

/** What makes an element the same one: its data-lay, else its id or its data-at. @param {Node} node */
function keyOf(node) {
  const key = node instanceof HTMLElement || node instanceof SVGElement ? node.dataset.lay || node.id || node.dataset.at || "" : "";
  return `${node.nodeName}\t${key}`;
}

/** What is in a place becomes this. An element that is there already stays and takes on what is new of it; so the focus stays, and
 * words that are being typed in a field (those that differ from its defaultValue) stay.
 * @param {Element | null | undefined} place @param {...(Node | string)} inside */
export function lay(place, ...inside) {
  if (!place) return;
  const focused = document.activeElement;
  layIn(place, inside.map((one) => (typeof one === "string" ? document.createTextNode(one) : one)));
  if ((focused instanceof HTMLElement || focused instanceof SVGElement) && focused !== document.activeElement && place.contains(focused)) focused.focus({ preventScroll: true });
}

/** @param {Element} place @param {Node[]} inside */
function layIn(place, inside) {
  /** @type {Map<string, Node[]>} */
  const there = new Map();
  for (const node of place.childNodes) there.set(keyOf(node), [...(there.get(keyOf(node)) || []), node]);
  const nodes = inside.map((node) => { const same = there.get(keyOf(node))?.shift(); if (same) take(same, node); return same || node; });
  for (const left of there.values()) for (const node of left) place.removeChild(node);
  let at = place.firstChild;
  for (const node of nodes) {
    if (node === at) at = at.nextSibling;
    else place.insertBefore(node, at);
  }
}

/** An element takes on what another has. @param {Node} old @param {Node} made */
function take(old, made) {
  if (!(old instanceof Element) || !(made instanceof Element)) {
    if (old.nodeValue !== made.nodeValue) old.nodeValue = made.nodeValue;
    return;
  }
  const typing = old instanceof HTMLInputElement && old === document.activeElement && old.value !== old.defaultValue;
  for (const { name } of [...old.attributes]) if (!made.hasAttribute(name)) old.removeAttribute(name);
  for (const { name, value } of made.attributes) {
    if (old.getAttribute(name) === value) continue;
    if (name === "style" && old instanceof HTMLElement && made instanceof HTMLElement) old.style.cssText = made.style.cssText;
    else old.setAttribute(name, value);
  }
  if (old instanceof HTMLInputElement && made instanceof HTMLInputElement) {
    if (old.checked !== made.checked) old.checked = made.checked;
    if (!typing && old.value !== made.value) old.value = made.value;
    return;
  }
  layIn(old, [...made.childNodes]);
  if (old instanceof HTMLSelectElement && made instanceof HTMLSelectElement && old.value !== made.value) old.value = made.value;
}
