// Typed work is not lost: who leaves a half-filled form is asked, by a link, the button back or a
// reload; where the browser can't ask, what was typed is there again. Nobody is asked after sending.
// Usage: node unsaved.mjs ADDRESS, of the demo workshop.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";

const base = process.argv[2];
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

// open makes a page that notes what it is asked, and answers stay or leave. A deaf browser is one
// that asks nothing, as some phones do.
async function open(width, deaf = false) {
  const context = await browser.newContext({ viewport: { width, height: 844 }, locale: "en-US" });
  const page = await context.newPage();
  const talk = { asked: 0, leave: false, errors: [] };
  page.on("dialog", async (d) => { talk.asked++; await (talk.leave ? d.accept() : d.dismiss()); });
  page.on("pageerror", (e) => talk.errors.push(e.message));
  page.on("console", (m) => { if (m.type() === "error" && !/status of 422/.test(m.text())) talk.errors.push(m.text()); });
  if (deaf) await page.addInitScript(() => window.addEventListener("beforeunload", (e) => e.stopImmediatePropagation(), true));
  return [page, talk];
}

async function type(box, text) {
  await box.click();
  await box.press("Control+a");
  await box.pressSequentially(text);
}

const hrefs = (page, pattern) => page.locator("main a").evaluateAll((all, p) => all.map((a) => a.getAttribute("href")).filter((h) => new RegExp(p).test(h)), pattern);

for (const width of [390, 1280]) {
  const [page, talk] = await open(width);
  await page.goto(base + "/styles");
  const [style] = await hrefs(page, "^/styles/\\d+$");
  await page.goto(base + style);
  const [colourway] = await hrefs(page, "/colourways/\\d+$");
  await page.goto(base + "/shelf");
  const [bolt] = await hrefs(page, "^/shelf/bolts/\\d+$");
  await page.goto(base + "/prices");
  await page.locator('main a[href^="/prices/"]').first().waitFor(); // what is laid by a job takes a moment
  const [price] = await hrefs(page, "^/prices/\\d+$");
  // Every form with typed boxes of these pages asks.
  for (const [where, name] of [["/orders/new", "number"], ["/workshop", "wage"], [colourway, "name"], [bolt, "place"], [price, "typed.own"], [style + "/edit", "note"], ["/workshop/year", "weeks"]]) {
    await page.goto(base + where);
    const box = page.locator(`form[method="post"] [name^="${name}"]:visible`).first();
    const before = await box.inputValue();
    await page.getByRole("link", { name: "Shelf" }).first().click(); // nothing typed: nothing asked
    await page.waitForURL("**/shelf");
    assert.equal(talk.asked, 0, `${where}: asked before anything was typed`);
    await page.goto(base + where);
    await type(box, "7");
    await page.getByRole("link", { name: "Orders" }).first().click();
    await page.waitForTimeout(300);
    assert.equal(talk.asked, 1, `${where}: not asked`);
    assert.equal(new URL(page.url()).pathname, where, "stays");
    assert.equal(await box.inputValue(), "7");
    await type(box, before); // as it was: nothing is lost
    if (before === "") await box.fill("");
    await page.getByRole("link", { name: "Orders" }).first().click();
    await page.waitForURL("**/orders");
    assert.equal(talk.asked, 1, `${where}: asked though nothing is changed`);
    talk.asked = 0;
  }
  // The button back, and then leaving on purpose: it is gone, as was said.
  await page.goto(base + "/shelf");
  await page.goto(base + bolt);
  const place = page.locator('[name="place"]');
  await type(place, "under the bed");
  await page.evaluate(() => window.history.back());
  for (let waited = 0; talk.asked === 0 && waited < 15_000; waited += 100) await page.waitForTimeout(100); // slow machines ask late
  assert.equal(talk.asked, 1, "back asks");
  assert.equal(new URL(page.url()).pathname, bolt);
  talk.leave = true;
  await page.getByRole("link", { name: "Orders" }).first().click();
  await page.waitForURL("**/orders");
  await page.goto(base + bolt);
  assert.notEqual(await place.inputValue(), "under the bed");
  // "Leave without saving" says it itself.
  talk.asked = 0;
  await type(place, "elsewhere");
  await page.getByRole("link", { name: "Leave without saving" }).click();
  await page.waitForURL("**/shelf");
  assert.equal(talk.asked, 0, "asked though the link says it");
  // Sending asks nothing, refused or not; a refused form that is left does.
  talk.leave = false;
  await page.goto(base + bolt);
  await type(place, `rail ${width}`);
  await type(page.locator('[name="full_width"]'), "wide");
  await page.getByRole("button", { name: "Save the bolt" }).click();
  await page.locator("#problems").waitFor();
  assert.equal(talk.asked, 0, "asked though it was sent");
  assert.equal(await place.inputValue(), `rail ${width}`);
  await page.locator('[name="full_width"]').click();
  await page.getByRole("link", { name: "Orders" }).first().click();
  await page.waitForTimeout(300);
  assert.equal(talk.asked, 1, "a refused form is typed work too");
  await type(page.locator('[name="full_width"]'), "44");
  await page.getByRole("button", { name: "Save the bolt" }).click();
  await page.getByText("The bolt is saved.").waitFor();
  await page.getByRole("link", { name: "Orders" }).first().click();
  await page.waitForURL("**/orders");
  assert.equal(talk.asked, 1, "nagged after it was saved");
  assert.deepEqual(talk.errors, []);
  await page.context().close();

  // A browser that can't ask keeps it.
  const [phone, silent] = await open(width, true);
  await phone.goto(base + bolt);
  await type(phone.locator('[name="place"]'), "in the loft");
  await phone.getByRole("link", { name: "Orders" }).first().click();
  await phone.waitForURL("**/orders");
  await phone.goto(base + bolt);
  await phone.getByText("What you typed here is back.").waitFor();
  assert.equal(await phone.locator('[name="place"]').inputValue(), "in the loft");
  await phone.screenshot({ path: `${process.argv[3]}/typed-work-${width}.png` });
  await phone.getByRole("button", { name: "Clear it" }).click();
  await phone.getByText("What you typed here is back.").waitFor({ state: "detached" });
  assert.notEqual(await phone.locator('[name="place"]').inputValue(), "in the loft");
  // The connection breaks off while it is sent: it is there when one goes back.
  await type(phone.locator('[name="place"]'), "box 9");
  await phone.route("**" + bolt, (route) => (route.request().method() === "POST" ? route.abort() : route.continue()));
  await phone.getByRole("button", { name: "Save the bolt" }).click();
  await phone.waitForTimeout(500);
  await phone.unroute("**" + bolt);
  await phone.goto(base + bolt);
  assert.equal(await phone.locator('[name="place"]').inputValue(), "box 9");
  // The till keeps how it is paid while more is tapped, and never asks.
  await phone.goto(base + "/orders/fair");
  await phone.locator("details.fair-way summary").first().click();
  await phone.locator('button[name="add"]:visible').first().click();
  await phone.locator("#how").selectOption("card");
  await phone.locator("#price").fill("31");
  await phone.locator('button[name="add"]:visible').first().click();
  await phone.getByText("2 garments").waitFor();
  assert.equal(await phone.locator("#how").inputValue(), "card");
  assert.equal(silent.asked, 0);
  assert.deepEqual(silent.errors.filter((e) => !/ERR_FAILED/.test(e)), []);
  await phone.context().close();
  console.log(`ok - typed work at ${width}`);
}
await browser.close();
