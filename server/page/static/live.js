// What changes while a page is open, and what somebody else has changed.
"use strict";

// Live progress of a planning; the page is loaded anew when it has ended. A connection that
// breaks off is taken up again by the browser, which says what it was told last.
document.querySelectorAll("[data-live]").forEach((part) => {
  const source = new EventSource(part.dataset.live);
  const message = part.querySelector("[data-live-message]"), share = part.querySelector("[data-live-share]");
  let before = message.textContent;
  source.addEventListener("open", () => { if (message.dataset.lost) { delete message.dataset.lost; message.textContent = before; } });
  source.addEventListener("progress", (event) => {
    const now = JSON.parse(event.data);
    if (now.message) message.textContent = before = now.message;
    share.value = now.share;
  });
  source.addEventListener("ended", () => { source.close(); window.location.reload(); });
  source.addEventListener("error", () => {
    message.dataset.lost = "yes";
    if (source.readyState !== EventSource.CLOSED) {
      message.textContent = "The connection broke off. The planning goes on; this page asks again.";
      return;
    }
    const again = document.createElement("a");
    again.href = window.location.href;
    again.textContent = "Look again";
    message.replaceChildren("The connection broke off. The planning goes on. ", again);
  });
});

// A field takes what somebody else has saved in the meantime.
document.querySelectorAll(".changed .needs-script").forEach((cell) => { cell.hidden = false; });
document.querySelectorAll("[data-take]").forEach((button) => button.addEventListener("click", () => {
  const field = document.getElementById(button.dataset.take);
  field.value = button.dataset.value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.focus();
}));

// A moment is written by the reader's own clock, in the manner of their country.
document.querySelectorAll("time[data-moment]").forEach((time) => {
  const at = new Date(time.dateTime), manner = time.dataset.moment;
  const part = (options) => new Intl.DateTimeFormat("en-GB", options).format(at);
  const day = part({ weekday: "short" }), month = at.toLocaleDateString("en-US", { month: "short" });
  const minutes = String(at.getMinutes()).padStart(2, "0"), hours = at.getHours();
  const clock = manner.startsWith("12") ? `${hours % 12 || 12}:${minutes} ${hours < 12 ? "am" : "pm"}` : `${String(hours).padStart(2, "0")}:${minutes}`;
  time.textContent = manner.includes("month-first")
    ? `${day}, ${month} ${at.getDate()}, ${at.getFullYear()}, ${clock}`
    : `${day}, ${at.getDate()} ${month} ${at.getFullYear()}, ${clock}`;
});
