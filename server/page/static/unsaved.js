// Typed work is never lost silently. Who leaves a page with a form that is filled in but not sent is
// asked; where a browser can't ask (some phones, a tab that is put to sleep), what was typed is kept
// in the tab and stands in the boxes again when the page is next opened. Forms that are sent again
// and again, marked data-kept, are kept without asking.
"use strict";
(() => {
  const prefix = "typed:";

  // boxesOf are the controls that a person fills in, by a name of their own within the form.
  function boxesOf(form) {
    const boxes = new Map();
    [...form.elements].forEach((box) => {
      if (!box.name || !box.matches("input, select, textarea") || ["hidden", "password", "submit", "button", "image"].includes(box.type)) return;
      const choice = box.type === "checkbox" || box.type === "radio";
      let name = choice ? `${box.name}=${box.value}` : box.name;
      while (boxes.has(name)) name += "+";
      boxes.set(name, box);
    });
    return boxes;
  }
  const ticks = (box) => box.type === "checkbox" || box.type === "radio";
  const valueOf = (box) => (ticks(box) ? box.checked : box.value);

  // keyOf names the kept work of a form: where it stands, where it leads, and its own key if it has one.
  function keyOf(form) {
    const own = form.querySelector('input[type="hidden"][name="key"]');
    return `${prefix}${window.location.pathname} ${new URL(form.action).pathname} ${own && form.hasAttribute("data-kept") ? own.value : ""}`;
  }
  let asked = false, left = false, gone = false;
  const store = (act) => { try { return act(window.sessionStorage); } catch { return null; } };

  const refused = document.getElementById("problems") !== null;
  const forms = [...document.querySelectorAll('form[method="post"]')].map((form) => {
    const boxes = boxesOf(form), began = new Map([...boxes].map(([name, box]) => [name, valueOf(box)]));
    // What comes back with a word about what is wrong was not saved yet.
    const returned = refused && new URL(form.action).pathname === window.location.pathname;
    return { form, boxes, began, returned, sent: false, quiet: form.hasAttribute("data-kept") };
  }).filter((one) => one.boxes.size > 0);

  const changed = (one) => [...one.boxes].filter(([name, box]) => box.isConnected && valueOf(box) !== one.began.get(name));
  const open = (one) => !one.sent && (one.returned || changed(one).length > 0);

  function keep(one) {
    // A refused form does not tell what stood in its boxes before, so all of it is kept.
    const typed = [...(one.returned ? one.boxes : changed(one))].filter(([, box]) => box.type !== "file")
      .map(([name, box]) => [name, one.returned ? null : one.began.get(name), valueOf(box)]);
    store((kept) => (typed.length ? kept.setItem(keyOf(one.form), JSON.stringify({ typed, sent: one.sent })) : kept.removeItem(keyOf(one.form))));
  }

  // Whoever gets a page as the answer to a form, and not by an address or the button back, needs what
  // was sent no more.
  const visit = performance.getEntriesByType("navigation")[0];
  if (visit && visit.type === "navigate" && document.referrer.startsWith(window.location.origin)) {
    store((kept) => Object.keys(kept).filter((key) => key.startsWith(prefix) && JSON.parse(kept.getItem(key)).sent).forEach((key) => kept.removeItem(key)));
  }

  // Kept work goes back into boxes that still hold what they held then.
  forms.forEach((one) => {
    const text = store((kept) => kept.getItem(keyOf(one.form)));
    if (!text || one.returned) return;
    let back = 0;
    JSON.parse(text).typed.forEach(([name, was, now]) => {
      const box = one.boxes.get(name);
      if (!box || (was !== null && valueOf(box) !== was) || valueOf(box) === now) return;
      if (ticks(box)) box.checked = now; else box.value = now;
      back++;
      for (let part = box.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
      ["input", "change"].forEach((kind) => box.dispatchEvent(new Event(kind, { bubbles: true })));
    });
    store((kept) => kept.removeItem(keyOf(one.form)));
    if (back > 0 && !one.quiet) tell(one);
  });

  function tell(one) {
    const note = document.createElement("div"), said = document.createElement("p"), clear = document.createElement("button");
    note.className = "note no-print";
    note.setAttribute("role", "status");
    said.textContent = "What you typed here is back. It is not saved yet.";
    clear.type = "button";
    clear.className = "plain";
    clear.textContent = "Clear it";
    clear.addEventListener("click", () => { left = true; window.location.reload(); });
    note.append(said, clear);
    one.form.before(note);
  }

  forms.forEach((one) => one.form.addEventListener("submit", (event) => { if (!event.defaultPrevented) one.sent = true; }));
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-leave]")) left = true; // "Leave without saving" says it all
  });
  window.addEventListener("beforeunload", (event) => {
    asked = false;
    if (left || !forms.some((one) => open(one) && !one.quiet)) return;
    event.preventDefault();
    event.returnValue = ""; // older browsers ask for this only
    asked = !navigator.userActivation || navigator.userActivation.hasBeenActive;
  });
  // A form that was sent stays kept until its answer is there: the connection may break off.
  window.addEventListener("pagehide", () => {
    gone = true;
    forms.forEach((one) => {
      if (one.sent || (open(one) && (one.quiet || !asked) && !left)) keep(one);
      else store((kept) => kept.removeItem(keyOf(one.form)));
    });
  });
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden" && !gone) forms.filter(open).forEach(keep); });
  window.addEventListener("pageshow", (event) => { if (event.persisted) { left = gone = false; forms.forEach((one) => { one.sent = false; }); } });

  // Signing out leaves nothing behind.
  document.querySelectorAll('form[action="/sign-out"]').forEach((form) => form.addEventListener("submit", () => store((kept) => kept.clear())));
})();
