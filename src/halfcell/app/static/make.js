// @ts-check
/** Elements of a page made in one go. */

/** A new element: keys with a hyphen, `list` and `role` become attributes, others properties; then what is inside.
 * @template {keyof HTMLElementTagNameMap} K @param {K} name @param {Record<string, unknown>} [with_] @param {(Node | string)[]} [inside] @returns {HTMLElementTagNameMap[K]} */
export function make(name, with_ = {}, inside = []) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(with_)) {
    if (key.includes("-") || key === "list" || key === "role") made.setAttribute(key, String(value)); else Object.assign(made, { [key]: value });
  }
  made.append(...inside);
  return made;
}
