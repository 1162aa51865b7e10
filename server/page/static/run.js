// Size run: moves like a table of figures, takes blocks that were copied from one, adds up as
// you type. Without this it is a table of boxes.
"use strict";
(() => {
  const biggest = 10000;

  function rowsOf(table) { return [...table.tBodies[0].rows].map((row) => [...row.querySelectorAll("input")]); }
  function placeOf(rows, box) {
    for (let r = 0; r < rows.length; r++) {
      const c = rows[r].indexOf(box);
      if (c >= 0) return [r, c];
    }
    return null;
  }

  // count is what a box holds; null if that isn't a quantity. Blank and 0 are none.
  function count(text) {
    text = text.trim();
    if (text === "") return 0;
    return /^[0-9]{1,5}$/.test(text) && Number(text) <= biggest ? Number(text) : null;
  }

  function addUp(table) {
    const rows = rowsOf(table), columns = rows.length ? rows[0].map(() => 0) : [];
    let total = 0;
    rows.forEach((row, r) => {
      let sum = 0;
      row.forEach((box, c) => { const n = count(box.value) || 0; sum += n; columns[c] += n; });
      total += sum;
      table.tBodies[0].rows[r].querySelector("[data-row-total]").textContent = sum;
    });
    table.querySelectorAll("[data-column-total]").forEach((cell, c) => { cell.textContent = columns[c]; });
    table.querySelector("[data-total]").textContent = total;
  }

  // said is the line below a size run that says what could not be taken.
  function said(table) { return table.closest("details, section, form").querySelector("[data-run-said]"); }
  function say(table, text, undo) {
    const line = said(table);
    line.replaceChildren();
    line.hidden = !text;
    if (!text) return;
    line.append(text);
    if (undo) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "plain small";
      button.textContent = "Put back what was there";
      button.addEventListener("click", () => { undo(); });
      line.append(" ", button);
    }
  }

  // check marks a box that holds no quantity; the server says the same if it is sent like this.
  function check(table, box) {
    const wrong = count(box.value) === null;
    if (wrong) box.setAttribute("aria-invalid", "true");
    else box.removeAttribute("aria-invalid");
    return wrong;
  }
  function checkAll(table) {
    const wrong = rowsOf(table).flat().filter((box) => check(table, box));
    return wrong.map((box) => `${box.getAttribute("aria-label")}: “${box.value.trim()}” is not a quantity.`);
  }
  function sayWrong(table) {
    const wrong = checkAll(table);
    say(table, wrong.length ? wrong.slice(0, 4).join(" ") + " Write whole numbers from 0 to 10,000; they are not counted until then." : "");
  }

  function target(rows, [r, c], event) {
    const box = event.target, last = rows[r].length - 1;
    const all = box.selectionStart === 0 && box.selectionEnd === box.value.length;
    const far = event.ctrlKey || event.metaKey;
    switch (event.key) {
      case "ArrowUp": return [r - 1, c];
      case "ArrowDown": return [r + 1, c];
      case "Enter": return [event.shiftKey ? r - 1 : r + 1, c];
      case "ArrowLeft": return all || box.selectionEnd === 0 ? [r, c - 1] : null;
      case "ArrowRight": return all || box.selectionStart === box.value.length ? [r, c + 1] : null;
      case "Home": return far ? [0, 0] : [r, 0];
      case "End": return far ? [rows.length - 1, last] : [r, last];
      default: return null;
    }
  }

  function move(event, table) {
    if (event.altKey || (event.ctrlKey || event.metaKey) && !["Home", "End"].includes(event.key)) return;
    const rows = rowsOf(table), at = placeOf(rows, event.target);
    if (!at) return;
    const to = target(rows, at, event);
    if (!to) return;
    event.preventDefault(); // Enter must not send the order from the last row
    const next = rows[to[0]] && rows[to[0]][to[1]];
    if (next) { next.focus(); next.select(); }
  }

  // cellsOf reads a block as spreadsheets copy it: tabs between cells, newlines between rows.
  function cellsOf(text) {
    const lines = text.replace(/\r\n?/g, "\n").replace(/\n+$/, "").split("\n");
    return lines.map((line) => line.split("\t").map((cell) => cell.replace(/^"(.*)"$/, "$1").replace(/[\u00a0\u202f]/g, " ").trim()));
  }

  function paste(event, table) {
    const text = event.clipboardData.getData("text");
    if (!/[\t\r\n]/.test(text.replace(/[\r\n]+$/, ""))) return; // one cell: as in any box
    const rows = rowsOf(table), at = placeOf(rows, event.target);
    if (!at) return;
    event.preventDefault();
    const before = rows.map((row) => row.map((box) => box.value));
    const homeless = [];
    let put = 0;
    cellsOf(text).forEach((line, r) => line.forEach((value, c) => {
      const box = rows[at[0] + r] && rows[at[0] + r][at[1] + c];
      if (box) { box.value = value; put++; } else if (value !== "") homeless.push(value);
    }));
    const wrong = checkAll(table);
    addUp(table);
    const parts = [`${put} ${put === 1 ? "box was" : "boxes were"} filled.`];
    if (homeless.length) parts.push(`There is no box for ${homeless.length === 1 ? "this one" : `these ${homeless.length}`}: ${homeless.slice(0, 30).join(", ")}${homeless.length > 30 ? " …" : ""}.`);
    if (wrong.length) parts.push(wrong.slice(0, 4).join(" "));
    say(table, parts.join(" "), () => {
      rows.forEach((row, r) => row.forEach((box, c) => { box.value = before[r][c]; }));
      addUp(table);
      sayWrong(table);
      rows[at[0]][at[1]].focus();
    });
  }

  // A line that appears while a button is pressed would move the button away from under the
  // finger, and the press would do nothing: what is said waits until it is let go.
  let pressed = false;
  const letGo = [];
  function released() {
    pressed = false;
    setTimeout(() => letGo.splice(0).forEach((then) => then()));
  }
  document.addEventListener("pointerdown", () => { pressed = true; }, true);
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, released, true);
  function whenLetGo(then) {
    if (pressed) letGo.push(then);
    else then();
  }

  document.querySelectorAll("table[data-run]").forEach((table) => {
    table.addEventListener("keydown", (event) => move(event, table));
    table.addEventListener("paste", (event) => paste(event, table));
    table.addEventListener("input", () => addUp(table));
    table.addEventListener("change", () => whenLetGo(() => sayWrong(table)));
    table.addEventListener("focusin", (event) => { if (event.target.select) event.target.select(); });
  });
})();
