// @ts-check
// Cells of a grid that can be typed in: data-at="row column" says where each stands.

/** Row and column of the cell an event is about, or null. @param {Event} event @returns {{i: number, j: number} | null} */
export function placeOf(event) {
  const field = event.target;
  if (!(field instanceof HTMLInputElement) || !field.dataset.at) return null;
  const [i = 0, j = 0] = field.dataset.at.split(" ").map(Number);
  return { i, j };
}

/** Rows to go by a key: down with Enter or the arrow, up with the other. @param {KeyboardEvent} event */
export function step(event) {
  return { Enter: 1, ArrowDown: 1, ArrowUp: -1 }[event.key] ?? 0;
}

/**
 * The cells of a block from a spreadsheet that is pasted into a cell, with the place of each; null for plain text.
 * @param {ClipboardEvent} event
 * @returns {{i: number, j: number, value: string}[] | null}
 */
export function pastedCells(event) {
  const text = event.clipboardData?.getData("text/plain") || "";
  const at = placeOf(event);
  if (!at || !/[\t\n]/.test(text.trim())) return null;
  event.preventDefault();
  const rows = text.replace(/\r/g, "").replace(/\n$/, "").split("\n").map((row) => row.split("\t"));
  return rows.flatMap((row, a) => row.map((value, b) => ({ i: at.i + a, j: at.j + b, value: value.trim() })));
}
