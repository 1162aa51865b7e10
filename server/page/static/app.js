// Small helpers. Every page works without them.
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

// Printing from a button.
document.querySelectorAll("[data-print]").forEach((button) => button.addEventListener("click", () => window.print()));

// On paper every folded part is open; afterwards each is as it was. Where a browser doesn't open
// the part that a link leads into, this does.
let folded = [];
window.addEventListener("beforeprint", () => {
  folded = [...document.querySelectorAll("details:not([open])")];
  folded.forEach((part) => { part.open = true; });
});
window.addEventListener("afterprint", () => { folded.forEach((part) => { part.open = false; }); folded = []; });
function unfold() {
  const target = document.getElementById(decodeURIComponent(window.location.hash.slice(1)));
  let opened = false;
  for (let part = target; part; part = part.parentElement) {
    if (part.tagName === "DETAILS" && !part.open) { part.open = true; opened = true; }
  }
  if (opened) target.scrollIntoView();
}
unfold();
window.addEventListener("hashchange", unfold);

// Live progress of a planning; the page is loaded anew when it has ended.
document.querySelectorAll("[data-live]").forEach((part) => {
  const source = new EventSource(part.dataset.live);
  const message = part.querySelector("[data-live-message]");
  const share = part.querySelector("[data-live-share]");
  source.addEventListener("progress", (event) => {
    const now = JSON.parse(event.data);
    if (now.message) message.textContent = now.message;
    share.value = now.share;
  });
  source.addEventListener("ended", () => { source.close(); window.location.reload(); });
});

// After a refused form the summary of what is wrong gets the focus.
const problems = document.getElementById("problems");
if (problems) problems.focus();

// A table that is wider than the page can be scrolled with the keyboard.
function letScroll() {
  document.querySelectorAll(".scroll, .drawing").forEach((part) => {
    if (part.scrollWidth > part.clientWidth) {
      const heading = part.closest("section, article, fieldset, form, main").querySelector("h1, h2, h3, legend, summary")
        ?? part.closest("details")?.querySelector("summary");
      part.tabIndex = 0;
      part.setAttribute("role", "region");
      part.setAttribute("aria-label", part.dataset.name || (heading ? heading.textContent.trim() : "Table"));
    } else {
      part.removeAttribute("tabindex");
      part.removeAttribute("role");
      part.removeAttribute("aria-label");
    }
  });
}
letScroll();
window.addEventListener("resize", letScroll);
