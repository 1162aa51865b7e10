// Markers: larger and smaller, turned as the cloth lies, and what a piece is. Without this, the
// whole drawing is seen, each piece has its title, and the list below says the same in words.
"use strict";
(() => {
  const most = 8, step = 1.5, kept = "yardwright.way";

  // What a browser remembers; some let nothing be remembered.
  function remembered() { try { return localStorage.getItem(kept) || ""; } catch { return ""; } }
  function remember(way) { try { localStorage.setItem(kept, way); } catch { /* it then lasts for this page */ } }

  const views = [...document.querySelectorAll("[data-marker]")];

  function shown(view) { return [...view.querySelectorAll(".drawing")].find((box) => box.getClientRects().length > 0); }

  // The width at which the whole drawing is seen, as the page lays it out.
  function wholeWidth(svg) {
    const box = svg.getBoundingClientRect(), paper = svg.viewBox.baseVal;
    return paper.width * Math.min(box.width / paper.width, box.height / paper.height);
  }

  // zoom shows a drawing so many times as large as when it is whole. What was at a point of the
  // box (its middle, if none is given) stays there.
  function zoom(box, times, at) {
    const svg = box.querySelector("svg"), before = Number(box.dataset.times || 1);
    times = Math.min(most, Math.max(1, times));
    if (times === before) return;
    const rect = box.getBoundingClientRect();
    const x = at ? at.x - rect.left : rect.width / 2, y = at ? at.y - rect.top : rect.height / 2;
    if (before === 1) box.dataset.whole = wholeWidth(svg);
    const left = box.scrollLeft + x, top = box.scrollTop + y;
    box.dataset.times = times;
    box.classList.toggle("larger", times > 1);
    svg.style.width = times > 1 ? box.dataset.whole * times + "px" : "";
    box.scrollLeft = left * times / before - x;
    box.scrollTop = top * times / before - y;
    window.dispatchEvent(new Event("resize")); // the box may scroll now, and says so
  }

  function whole(view) { view.querySelectorAll(".drawing").forEach((box) => zoom(box, 1)); }

  function turn(way) {
    for (const view of views) {
      whole(view);
      if (way) view.dataset.way = way; else delete view.dataset.way;
      say(view);
    }
  }

  // say marks the button of the way in which a drawing lies.
  function say(view) {
    const box = shown(view);
    view.querySelectorAll("[data-lie]").forEach((button) => button.setAttribute("aria-pressed", String(Boolean(box) && box.dataset.way === button.dataset.lie)));
  }

  // words of a piece, from the list below the drawing.
  function words(view, piece) {
    const row = view.querySelector(`[data-laid="${piece.dataset.piece}.${piece.dataset.copy}"]`);
    if (!row) return null;
    const cell = (name) => row.querySelector(`[data-name="${name}"]`);
    const size = cell("Cut size");
    const whom = view.querySelector(`[data-for="${row.dataset.garment}"] span`);
    return {
      what: `${row.querySelector("th").textContent}, of ${cell("Of").textContent}`,
      size: `${size.firstChild.textContent} (${size.querySelector(".sub").textContent})`,
      lies: `${cell("How it lies").textContent}; ${cell("Where").textContent}`,
      for: whom ? whom.textContent : "",
    };
  }

  function tell(view, piece) {
    const said = words(view, piece);
    if (!said) return;
    view.querySelectorAll(".marker-piece.told").forEach((old) => old.classList.remove("told"));
    piece.classList.add("told");
    const place = view.querySelector("[data-marker-told]");
    place.hidden = false;
    for (const [name, text] of Object.entries(said)) place.querySelector(`[data-told="${name}"]`).textContent = text;
  }

  // reach goes to a piece by keyboard: one of them can be reached with Tab, the others with
  // the arrow keys.
  function reach(pieces, piece) {
    pieces.forEach((other) => other.setAttribute("tabindex", other === piece ? "0" : "-1"));
    piece.focus({ preventScroll: true });
    piece.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  // beside finds the nearest piece in a direction.
  function beside(pieces, piece, [dx, dy]) {
    const middle = (p) => { const r = p.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; };
    const [x, y] = middle(piece);
    let best = null, least = Infinity;
    for (const other of pieces) {
      const [ox, oy] = middle(other);
      const along = (ox - x) * dx + (oy - y) * dy, across = Math.abs((ox - x) * dy) + Math.abs((oy - y) * dx);
      if (other === piece || along <= 1) continue;
      const far = along + 2 * across;
      if (far < least) [best, least] = [other, far];
    }
    return best;
  }

  function keys(event, view, box, pieces) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const times = Number(box.dataset.times || 1), piece = event.target.closest(".marker-piece");
    if (event.key === "+" || event.key === "=") zoom(box, times * step);
    else if (event.key === "-") zoom(box, times / step);
    else if (event.key === "0") zoom(box, 1);
    else if (piece && ways[event.key]) { const next = beside(pieces, piece, ways[event.key]); if (next) reach(pieces, next); }
    else if (piece && event.key === "Home") reach(pieces, pieces[0]);
    else if (piece && event.key === "End") reach(pieces, pieces[pieces.length - 1]);
    else return;
    event.preventDefault();
  }

  // Two fingers on a drawing make it larger or smaller; one moves it, as any box that scrolls.
  function pinch(box) {
    let apart = 0, times = 1;
    const fingers = (event) => {
      const [a, b] = event.touches;
      return { apart: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), at: { x: (a.clientX + b.clientX) / 2, y: (a.clientY + b.clientY) / 2 } };
    };
    box.addEventListener("touchstart", (event) => {
      if (event.touches.length !== 2) return;
      apart = fingers(event).apart;
      times = Number(box.dataset.times || 1);
    }, { passive: true });
    box.addEventListener("touchmove", (event) => {
      if (event.touches.length !== 2 || !apart) return;
      event.preventDefault();
      const now = fingers(event);
      zoom(box, times * now.apart / apart, now.at);
    }, { passive: false });
    box.addEventListener("touchend", (event) => { if (event.touches.length < 2) apart = 0; }, { passive: true });
    // A pinch on a touch pad comes as a wheel with the control key.
    box.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      zoom(box, Number(box.dataset.times || 1) * Math.exp(-event.deltaY / 200), { x: event.clientX, y: event.clientY });
    }, { passive: false });
  }

  function live(view) {
    view.querySelectorAll(".drawing").forEach((box) => {
      const pieces = [...box.querySelectorAll(".marker-piece")];
      box.querySelector("svg").setAttribute("role", "group");
      pieces.forEach((piece, i) => {
        const said = words(view, piece);
        piece.setAttribute("tabindex", i === 0 ? "0" : "-1");
        piece.setAttribute("role", "img");
        if (said) piece.setAttribute("aria-label", Object.values(said).filter(Boolean).join(". "));
      });
      for (const kind of ["pointerover", "focusin", "click"]) {
        box.addEventListener(kind, (event) => { const piece = event.target.closest(".marker-piece"); if (piece) tell(view, piece); });
      }
      box.addEventListener("keydown", (event) => keys(event, view, box, pieces));
      pinch(box);
    });
    view.querySelectorAll("[data-zoom]").forEach((button) => button.addEventListener("click", () => {
      const box = shown(view), times = Number(box.dataset.times || 1);
      zoom(box, { in: times * step, out: times / step, whole: 1 }[button.dataset.zoom]);
    }));
    view.querySelectorAll("[data-lie]").forEach((button) => button.addEventListener("click", () => { remember(button.dataset.lie); turn(button.dataset.lie); }));
    view.querySelector("[data-marker-tools]").hidden = false;
    view.querySelector("[data-marker-hint]").hidden = false;
    view.dataset.livePieces = "";
  }

  views.forEach(live);
  turn(remembered());
  window.matchMedia("(max-width: 40rem)").addEventListener("change", () => views.forEach((view) => { whole(view); say(view); }));
  // A lay that is folded away has no drawing that is shown until it is opened.
  document.addEventListener("toggle", () => views.forEach(say), true);
})();
