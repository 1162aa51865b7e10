// Small helpers. Every page works without them.
"use strict";

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

// After a refused form the summary of what is wrong gets the focus.
const problems = document.getElementById("problems");
if (problems) problems.focus();

// Ticks that only help whoever works here (what is in the basket, which plies lie on the table) are
// remembered on this device.
document.querySelectorAll("[data-remember]").forEach((tick) => {
  const key = "tick-" + tick.dataset.remember;
  try {
    tick.checked = window.localStorage.getItem(key) === "yes";
    tick.addEventListener("change", () => {
      if (tick.checked) window.localStorage.setItem(key, "yes"); else window.localStorage.removeItem(key);
    });
  } catch { /* storage is closed: the tick still works, for as long as the page is open */ }
});

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
