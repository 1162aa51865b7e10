"use strict";
// Size run: move with arrows and Enter, paste a block, totals as you type.
function boxesOf(table) {
  return [...table.tBodies[0].rows].map((row) => [...row.querySelectorAll("input")]);
}
function count(box) {
  const text = box.value.trim();
  return /^[0-9]+$/.test(text) ? Number(text) : 0;
}
function addUp(table) {
  const rows = boxesOf(table);
  const columns = rows.length ? rows[0].map(() => 0) : [];
  let total = 0;
  rows.forEach((row, r) => {
    let sum = 0;
    row.forEach((box, c) => { sum += count(box); columns[c] += count(box); });
    total += sum;
    table.tBodies[0].rows[r].querySelector("[data-row-total]").textContent = sum;
  });
  table.querySelectorAll("[data-column-total]").forEach((cell, c) => { cell.textContent = columns[c]; });
  table.querySelector("[data-total]").textContent = total;
}
function place(rows, box) {
  for (let r = 0; r < rows.length; r++) {
    const c = rows[r].indexOf(box);
    if (c >= 0) return [r, c];
  }
  return null;
}
function move(event, table) {
  const rows = boxesOf(table);
  const at = place(rows, event.target);
  if (!at) return;
  const box = event.target;
  const atStart = box.selectionStart === 0 && box.selectionEnd === 0;
  const atEnd = box.selectionStart === box.value.length && box.selectionEnd === box.value.length;
  const whole = box.selectionStart === 0 && box.selectionEnd === box.value.length;
  let [r, c] = at;
  if (event.key === "ArrowUp") r--;
  else if (event.key === "ArrowDown") r++;
  else if (event.key === "Enter") { if (event.shiftKey) r--; else r++; }
  else if (event.key === "ArrowLeft" && (atStart || whole)) c--;
  else if (event.key === "ArrowRight" && (atEnd || whole)) c++;
  else return;
  const next = rows[r] && rows[r][c];
  if (next) { next.focus(); next.select(); }
  event.preventDefault();
}
function pasteBlock(event, table) {
  const text = event.clipboardData.getData("text").replace(/\r/g, "").replace(/\n$/, "");
  if (!/[\t\n]/.test(text)) return;
  const rows = boxesOf(table);
  const at = place(rows, event.target);
  if (!at) return;
  event.preventDefault();
  text.split("\n").forEach((line, r) => line.split("\t").forEach((value, c) => {
    const box = rows[at[0] + r] && rows[at[0] + r][at[1] + c];
    if (box) box.value = value.trim();
  }));
  addUp(table);
}
document.querySelectorAll("table[data-run]").forEach((table) => {
  table.addEventListener("keydown", (event) => move(event, table));
  table.addEventListener("paste", (event) => pasteBlock(event, table));
  table.addEventListener("input", () => addUp(table));
  table.addEventListener("focusin", (event) => { if (event.target.select) event.target.select(); });
});

