// Markers in the browser: larger and smaller, turned, and what a piece is, by pointer, keyboard
// and finger, and without script.
import assert from "node:assert/strict";

// unfold opens what the first marker is folded into, from the outside in, by what can be clicked.
async function unfold(page) {
  const marker = page.locator("[data-marker]").first();
  const folds = page.locator("main details", { has: marker });
  for (let i = 0; i < await folds.count(); i++) {
    const fold = folds.nth(i);
    if (await fold.getAttribute("open") === null) await fold.locator("> summary").click();
  }
  await marker.locator(".drawing").first().waitFor({ state: "attached" });
}

export async function lookAtMarkers({ open, base, accessible, fitsAcross, picture, batch = "/batches/1", costing = "/prices/1/markers" }) {
  const page = await open(1280);
  await page.goto(base + batch);
  await unfold(page);
  const view = page.locator("[data-marker]").first();
  const box = view.locator(".drawing:visible");
  const told = view.locator("[data-marker-told]");
  const width = async () => (await box.locator("svg").boundingBox()).width;

  // By pointer: what it is, its size, how it lies, and for whom.
  await box.locator(".marker-piece").nth(1).hover();
  await told.waitFor();
  assert.match(await told.textContent(), /, of .* \d.* × .* \(.*\) (not )?turned.*from the left selvage, .* from the start for order .* \(.*\) \d+/);

  // By keyboard: Tab reaches one piece, the arrows the others; + and − and 0 change the size.
  await view.getByRole("button", { name: "Length away from you" }).focus();
  await page.keyboard.press("Tab");
  if (!(await page.evaluate(() => document.activeElement.matches(".marker-piece")))) await page.keyboard.press("Tab"); // the box scrolls
  const name = () => page.evaluate(() => document.activeElement.getAttribute("aria-label"));
  const first = await name();
  assert.match(first, /for order/);
  await page.keyboard.press("End");
  assert.notEqual(await name(), first);
  await page.keyboard.press("Home");
  assert.equal(await name(), first);
  const arrows = new Set();
  for (const key of ["ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp"]) { await page.keyboard.press(key); arrows.add(await name()); }
  assert.ok(arrows.size > 1, "the arrows go from piece to piece");
  const whole = await width();
  await page.keyboard.press("+");
  await page.keyboard.press("+");
  assert.ok(Math.abs((await width()) / whole - 2.25) < 0.05, "twice larger by half");
  assert.ok(await box.evaluate((b) => b.scrollWidth > b.clientWidth || b.scrollHeight > b.clientHeight), "it scrolls in its box");
  await fitsAcross(page, "a larger marker");
  await picture(page, "marker-larger-1280", { fullPage: false });
  await page.keyboard.press("-");
  assert.ok(Math.abs((await width()) / whole - 1.5) < 0.05);
  await page.keyboard.press("0");
  assert.ok(Math.abs((await width()) / whole - 1) < 0.02);

  // Turned, for all markers and the next visit.
  for (const [label, way] of [["Length away from you", "up"], ["Length to the right", "right"], ["Length away from you", "up"]]) {
    await view.getByRole("button", { name: label }).click();
    assert.equal(await box.getAttribute("data-way"), way);
    assert.equal(await view.getByRole("button", { name: label }).getAttribute("aria-pressed"), "true");
  }
  await page.reload();
  await unfold(page);
  for (const other of await page.locator("[data-marker] .drawing:visible").all()) assert.equal(await other.getAttribute("data-way"), "up");
  await view.getByText("Each piece in words").click();
  await picture(page, "marker-turned-1280", { fullPage: false });

  // A page with few markers is enough to look at what opening, enlarging and turning leave.
  await page.goto(base + costing);
  await page.locator("[data-marker]").first().getByRole("button", { name: "Larger" }).click();
  await page.getByText("Each piece in words").first().click();
  await page.locator(".drawing:visible .marker-piece").first().hover();
  await accessible(page, "a larger marker in words");
  await page.context().close();

  // By finger: a tap tells, two fingers make it larger.
  const phone = await open(390, { hasTouch: true, isMobile: true });
  await phone.goto(base + batch);
  await unfold(phone);
  const small = phone.locator("[data-marker]").first();
  const drawn = small.locator(".drawing:visible");
  assert.equal(await drawn.count(), 1);
  await drawn.locator(".marker-piece").first().tap();
  await small.locator("[data-marker-told]").waitFor();
  assert.match(await small.locator("[data-marker-told]").textContent(), /for order/);
  const before = (await drawn.locator("svg").boundingBox()).width;
  await drawn.evaluate((b) => {
    const r = b.getBoundingClientRect();
    const finger = (id, x) => new Touch({ identifier: id, target: b, clientX: r.left + x, clientY: r.top + 50 });
    const send = (kind, a, c) => b.dispatchEvent(new TouchEvent(kind, { touches: [finger(1, a), finger(2, c)], bubbles: true, cancelable: true }));
    send("touchstart", 100, 150);
    send("touchmove", 50, 200);
  });
  assert.ok(Math.abs((await drawn.locator("svg").boundingBox()).width / before - 3) < 0.1, "three times as far apart, three times as large");
  await fitsAcross(phone, "a marker on a phone");
  await drawn.scrollIntoViewIfNeeded();
  await picture(phone, "marker-larger-390", { fullPage: false });
  await small.getByRole("button", { name: "Whole" }).tap();
  await small.getByRole("button", { name: "Length to the right" }).tap();
  assert.equal(await drawn.getAttribute("data-way"), "right");
  await fitsAcross(phone, "a turned marker on a phone");
  await picture(phone, "marker-turned-390", { fullPage: false });
  await phone.context().close();

  // Without script: the whole drawing with its titles, the list, and the drawing by itself.
  const plain = await open(390, { javaScriptEnabled: false });
  await plain.goto(base + batch);
  await unfold(plain);
  const still = plain.locator("[data-marker]").first();
  assert.equal(await still.locator("[data-marker-tools]").isVisible(), false);
  assert.match(await still.locator(".marker-piece title").first().textContent(), /For order/);
  await still.getByText("Each piece in words").click();
  assert.ok(await still.locator("[data-laid]").first().isVisible());
  await still.getByRole("link", { name: "The drawing by itself" }).click();
  assert.match(plain.url(), /drawing\.svg/);
  await plain.context().close();
}
