// Tries the pages in a real browser: every page at two widths, with axe and without console
// errors; then the three uses, as a person would do them.
// Usage: node run.mjs OUT_DIR PATHS.json LANES.json, where LANES.json has the addresses of the
// workshops that are walked through: look, cut and sell are the planned demo, empty, wide and narrow have nothing in them.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import axe from "axe-core";
import { chromium } from "playwright-core";
import { HtmlValidate } from "html-validate";
import { lookAtMarkers } from "./markers.mjs";
import { typeASizeRun } from "./sizerun.mjs";
import { changeTogether, readElsewhere } from "./together.mjs";
import { buyAll, liveAYear } from "./year.mjs";

const [out, pathsFile, lanesFile] = process.argv.slice(2);
const [paths, lanes] = [pathsFile, lanesFile].map((file) => JSON.parse(fs.readFileSync(file, "utf8")));
fs.mkdirSync(out, { recursive: true });

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const complaints = [];

// patience is how long something on a page is waited for, in ms: far longer than it takes on a busy
// machine.
const patience = 180_000;

// open makes a page whose errors are noted.
async function open(width, options = {}) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, locale: "en-US", ...options });
  context.setDefaultTimeout(patience);
  const page = await context.newPage();
  page.on("console", (m) => {
    const foreseen = /status of 422/.test(m.text()) || (/status of 404/.test(m.text()) && m.location().url.includes("/imports/drafts/"));
    if (m.type() === "error" && !foreseen) complaints.push(`${page.url()}: ${m.text()}`);
  });
  page.on("dialog", (d) => d.accept()); // what is typed and not sent is tried in unsaved.mjs
  page.on("pageerror", (e) => complaints.push(`${page.url()}: ${e.message}`));
  page.on("requestfailed", (r) => {
    if (!/ERR_ABORTED/.test(r.failure()?.errorText ?? "")) complaints.push(`${r.url()}: ${r.failure()?.errorText}`);
  });
  return page;
}

// accessible has axe look at a page. Of what is in order only a count comes back, which is many
// times faster than a list of it all. Style sheets are our own and need no loading once more; the one
// rule that reads them is about locked orientation, and no sheet asks for that.
async function accessible(page, where) {
  if (!await page.evaluate(() => "axe" in window)) await page.evaluate(axe.source);
  const { violations, passes } = await page.evaluate(async () => {
    // A button half way to its other colour has no contrast that counts.
    const moving = () => document.getAnimations().some((a) => a instanceof CSSTransition && a.playState === "running");
    for (let wait = 0; wait < 40 && (wait < 1 || moving()); wait++) await new Promise((done) => setTimeout(done, 50));
    const found = await window.axe.run(document, { resultTypes: ["violations"], preload: false });
    return { violations: found.violations, passes: found.passes.length };
  });
  assert.ok(passes > 10, `${where}: axe looked at hardly anything`);
  assert.equal(page.frames().length, 1, `${where}: frames would have to be looked at, too`);
  for (const violation of violations) {
    complaints.push(`${where}: ${violation.id}: ${violation.nodes.slice(0, 2).map((n) => n.html.slice(0, 120)).join(" | ")}`);
  }
}

// What axe must find, at least: else it proves nothing that it finds no more.
async function faultsAreFound() {
  const page = await open(390);
  await page.setContent(`<!doctype html><html><title>Faults</title><body><h1>Faults</h1><img src="data:,"><p style="color:#ccc;background:#fff">pale</p><input>`);
  await accessible(page, "planted");
  const found = complaints.splice(0).join("\n");
  for (const rule of ["html-has-lang", "image-alt", "color-contrast", "label"]) assert.match(found, new RegExp(`planted: ${rule}:`));
  await page.setContent(`<div style="width:400px">wide</div>`);
  await fitsAcross(page, "planted");
  assert.match(complaints.splice(0).join("\n"), /18 px wider than the screen/);
  await page.context().close();
}

// What a page sends must be valid HTML, of the rules that are about validity and not about
// taste.
const validator = new HtmlValidate({
  extends: ["html-validate:standard"],
  rules: {
    "no-implicit-button-type": "off", // a button in a form submits, which is what ours do
    "no-redundant-role": "off",
  },
});

async function valid(response, where) {
  const report = await validator.validateString(await response.text(), where);
  for (const result of report.results) {
    for (const m of result.messages.slice(0, 4)) complaints.push(`${where}: line ${m.line}: ${m.ruleId}: ${m.message}`);
  }
}

async function fitsAcross(page, where) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (over > 0) complaints.push(`${where}: ${over} px wider than the screen`);
}

async function picture(page, name, options = {}) {
  await page.screenshot({ path: path.join(out, `${name}.png`), fullPage: true, ...options });
}

function pictureName(p, width) {
  return (p.replace(/[^a-z0-9]+/gi, "-").replace(/^-|-$/g, "") || "today") + "-" + width;
}

async function everyPage(base) {
  await Promise.all([1280, 390].map((width) => pagesAt(base, width)));
}

async function pagesAt(base, width) {
  const page = await open(width);
  for (const p of paths) {
    const response = await page.goto(base + p);
    assert.equal(response.status(), 200, p);
    if (width === 1280) await valid(response, p);
    await accessible(page, `${p} at ${width}`);
    await fitsAcross(page, `${p} at ${width}`);
    await picture(page, pictureName(p, width));
  }
  await page.context().close();
}

// The first use: an order by the keyboard alone.
async function enterAnOrder(base) {
  const page = await open(1280);
  await page.goto(base + "/orders/new");
  await page.getByLabel("Customer", { exact: true }).selectOption({ label: "Web orders (online)" });
  await page.getByLabel("Number").fill("B-1");
  await page.getByLabel("Meadow on slate, Puddle skirt, size 98").focus();
  await page.keyboard.type("3");
  await page.keyboard.press("ArrowRight");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-label")), "Meadow on slate, Puddle skirt, size 104");
  await page.keyboard.type("5");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-label")), "Sparrow on moss, Puddle skirt, size 104");
  await page.keyboard.type("2");
  await page.keyboard.press("Shift+Enter");
  await page.keyboard.press("ArrowLeft");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-label")), "Meadow on slate, Puddle skirt, size 98");
  const run = page.locator("table[data-run]").filter({ has: page.getByLabel("Meadow on slate, Puddle skirt, size 98") });
  assert.equal(await run.locator("[data-total]").textContent(), "10");
  assert.deepEqual(await run.locator("[data-row-total]").allTextContents(), ["8", "2"]);

  // A block copied from a table lands in the boxes.
  await page.getByLabel("Meadow on slate, Puddle skirt, size 110").evaluate((box) => {
    const data = new DataTransfer();
    data.setData("text", "1\t2\n3\t4\n");
    box.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
  });
  assert.equal(await page.getByLabel("Sparrow on moss, Puddle skirt, size 116").inputValue(), "4");
  assert.equal(await run.locator("[data-total]").textContent(), "20");
  await picture(page, "order-typed-1280");

  // A slip comes back with everything as it was typed, and the summary has the focus.
  await page.getByLabel("Rust, Larkspur circle skirt, size 104").fill("two");
  await page.getByRole("button", { name: "Save the order" }).click();
  assert.match(await page.getByRole("alert").textContent(), /not a quantity/);
  assert.equal(await page.evaluate(() => document.activeElement.id), "problems");
  assert.equal(await page.getByLabel("Meadow on slate, Puddle skirt, size 98").inputValue(), "3");
  await accessible(page, "a refused order");
  await picture(page, "order-refused-1280");
  await page.getByLabel("Rust, Larkspur circle skirt, size 104").fill("");
  await page.getByRole("button", { name: "Save the order" }).click();
  await page.getByText("The order is saved.").waitFor();
  assert.equal(await page.locator("h1").textContent(), "Order B-1");
  assert.match(await page.locator("dl").textContent(), /Garments\s*20/);
  await page.context().close();
}

// The same by thumb on a phone, and without any script.
async function enterAnOrderOtherwise(base) {
  for (const [number, options] of [["B-2", { hasTouch: true, isMobile: true }], ["B-3", { javaScriptEnabled: false }]]) {
    const page = await open(390, options);
    await page.goto(base + "/orders/new");
    await page.getByLabel("Customer", { exact: true }).selectOption({ label: "Osier Green Fair (fair)" });
    await page.getByLabel("Number").fill(number);
    await page.getByLabel("Sparrow, Kindling bag, size medium").fill("4");
    await page.getByRole("button", { name: "Save the order" }).click();
    await page.getByText("The order is saved.").waitFor();
    await page.context().close();
  }
}

// openParts opens the folded parts of a page, those in others too; a maker opens the ones they need.
async function openParts(page) {
  for (let more = true; more;) {
    const shut = page.locator("main details:not([open]) > summary:visible");
    more = await shut.count() > 0;
    if (more) await shut.first().click();
  }
}

// fitsOnPaper makes sure that on paper no folded part is missing, with script and without.
async function fitsOnPaper(page, where) {
  const steps = page.locator("#minutes table tbody tr").first();
  assert.equal(await steps.isVisible(), false, `${where}: the steps are folded on the screen`);
  await page.emulateMedia({ media: "print" });
  assert.ok((await steps.boundingBox())?.height > 0 && await steps.evaluate((row) => row.checkVisibility({ contentVisibilityAuto: true })), `${where}: the steps are on paper`);
  await page.emulateMedia({ media: null });
}

// The second use: a batch, planned live, and its cut sheet.
async function seeABatch(base) {
  const page = await open(1280);
  await page.goto(base + "/batches/new");
  await page.getByLabel("Name").fill("Browser run");
  await page.getByRole("button", { name: "Make the batch and plan it" }).click();
  await page.getByRole("link", { name: "Cut sheet to print" }).waitFor();
  await accessible(page, "a planned batch");
  await picture(page, "batch-planned-1280");
  await fitsOnPaper(page, "a planned batch");
  await picture(page, "readme-batch", { fullPage: false });
  await page.getByRole("link", { name: "Cut sheet to print" }).click();
  await page.getByRole("heading", { level: 1 }).waitFor();
  assert.ok((await page.locator("svg").count()) > 2);
  assert.equal(await page.locator("main details").count(), 0, "nothing of a cut sheet is folded");
  await page.pdf({ path: path.join(out, "cut-sheet.pdf"), format: "A4" });
  await page.context().close();
}

// The batch of the second use is released, a lay is cut by thumb and without script, its end
// goes to the shelf, and all of it is undone.
async function workABatch(base) {
  const wide = await open(1280);
  await wide.goto(base + "/batches/1");
  assert.equal(await wide.getByRole("button", { name: "Start cutting", exact: true }).count(), 0, "a release that would be refused isn't offered");
  await wide.getByRole("link", { name: /^Buy / }).click();
  await picture(wide, "batch-to-buy-1280", { fullPage: false });
  await buyAll(wide);
  assert.equal(await wide.getByRole("button", { name: "Start cutting", exact: true }).count(), 1, "bought and received, without planning again");
  await accessible(wide, "a batch whose cloth is bought");

  await wide.goto(base + "/batches");
  await wide.getByRole("link", { name: "Browser run" }).click();
  const address = wide.url();
  await wide.getByRole("button", { name: "Plan again" }).click();
  await wide.getByRole("link", { name: /^Compare its \d plans$/ }).waitFor();
  await wide.locator("[data-live]").first().waitFor({ state: "detached" });
  await wide.getByRole("link", { name: /^Compare its \d plans$/ }).click();
  await accessible(wide, "two plans side by side");
  await picture(wide, "batch-plans-1280");
  await wide.getByRole("button", { name: /^Cut by the plan of/ }).first().click();
  await wide.getByText("The batch will be cut by this plan.").waitFor();
  if (await wide.getByRole("link", { name: /^Buy / }).count()) await buyAll(wide);

  for (const [name, width, options] of [["thumb", 390, { hasTouch: true, isMobile: true }], ["noscript", 390, { javaScriptEnabled: false }]]) {
    const page = await open(width, options);
    // axe is a script of its own, so it can only look where scripts run.
    const looked = async (where) => { if (options.javaScriptEnabled !== false) { await accessible(page, where); await fitsAcross(page, where); } };
    await page.goto(address);
    await page.getByRole("button", { name: "Start cutting", exact: true }).click();
    await page.getByRole("status").getByText("Ready to cut: its cloth").first().waitFor();
    await looked("a released batch");
    await picture(page, `batch-released-${name}-${width}`);
    assert.equal(await page.getByRole("button", { name: "Plan again" }).count(), 0);
    const lays = page.locator("article.lay");
    const first = lays.first();
    assert.equal(await lays.filter({ visible: true }).count(), 1, "the lay to cut next stands open, the others are folded");
    const taken = first.getByLabel(/^Taken from bolt/).first();
    const bolt = (await first.locator("li strong").first().textContent()).trim();
    await first.getByText("It came out differently").click();
    await taken.fill("900 yd");
    await first.getByRole("button", { name: "Save it like this" }).click();
    assert.match(await page.getByRole("alert").textContent(), /Only .* are on bolt/);
    assert.equal(await taken.inputValue(), "900 yd");
    await looked("a refused cut");
    const planned = (await first.locator(".hint", { hasText: "planned" }).first().textContent()).match(/planned (.*) \(/)[1];
    await taken.fill(planned);
    if (await first.getByLabel(/^Its end/).count()) {
      await first.getByLabel(/^Its end/).first().selectOption("kept as a remnant");
      await first.getByLabel(/^Place of a remnant/).first().fill("browser box");
    }
    await first.getByRole("button", { name: "Save it like this" }).click();
    await page.getByText("The lay is marked as cut").waitFor();
    await looked("a batch being cut");
    await picture(page, `batch-being-cut-${name}-${width}`);

    await page.goto(base + "/shelf");
    const usedUp = page.locator("details").filter({ has: page.locator("a", { hasText: new RegExp(`^${bolt}$`) }) });
    if (await usedUp.count()) await usedUp.first().locator("summary").click();
    await page.getByRole("link", { name: bolt, exact: true }).click();
    assert.match(await page.locator("main").textContent(), /Every length of it[\s\S]*cut[\s\S]*Browser run/);
    await looked("the history of a bolt");
    await picture(page, `bolt-history-${name}-${width}`);
    await page.getByLabel(/^Length on it/).fill("1 yd");
    await page.getByRole("button", { name: "Save the bolt" }).click();
    assert.match(await page.getByRole("alert").textContent(), /Say why the length/);

    await page.goto(address);
    await page.locator(".lay-part > summary").filter({ hasText: /, lay \d+/ }).filter({ has: page.getByText("cut", { exact: true }) }).first().click();
    await looked("a lay that is cut");
    await page.getByRole("button", { name: "Not cut: take the tick back" }).click();
    await page.getByText("The tick is taken back").waitFor();
    await page.getByRole("button", { name: "Back to planning" }).click();
    await page.getByRole("status").getByText("Back to planning: the cloth").first().waitFor();
    await page.context().close();
  }

  // From the release to the last bundle.
  await wide.goto(address);
  await wide.getByRole("button", { name: "Start cutting", exact: true }).click();
  await wide.getByRole("status").getByText("Ready to cut: its cloth").first().waitFor();
  await picture(wide, "batch-released-1280");
  const all = Number((await wide.getByText(/^0 of \d+ lays? (is|are) cut/).textContent()).match(/of (\d+)/)[1]);
  assert.equal(await wide.locator("article.lay").count(), all);
  for (let cut = 1; cut <= all; cut++) {
    await wide.getByRole("button", { name: "This lay is cut" }).click();
    await wide.getByText(new RegExp(`^${cut} of ${all} lays? (is|are) cut`)).waitFor();
    await wide.getByText("The lay is marked as cut").waitFor();
  }
  for (const box of await wide.locator("#bundles input[type=checkbox]").all()) await box.check();
  await wide.getByRole("button", { name: "The ticked bundles are sewn" }).click();
  await wide.getByText("The bundles are ticked off.").waitFor();
  assert.equal(await wide.locator(".way [aria-current]").textContent(), "sewn");
  await accessible(wide, "a batch that is done");
  assert.ok(await wide.locator("#money").isVisible(), "what a done batch cost stands open");
  await openParts(wide);
  await accessible(wide, "a batch with every part open");
  await fitsAcross(wide, "a batch with every part open");
  await picture(wide, "batch-open-1280");
  await wide.setViewportSize({ width: 390, height: 900 });
  await accessible(wide, "a batch with every part open at 390");
  await fitsAcross(wide, "a batch with every part open at 390");
  await picture(wide, "batch-open-390");
  await wide.setViewportSize({ width: 1280, height: 900 });
  await wide.goto(wide.url().replace(/[?#].*/, ""));
  await wide.getByRole("link", { name: "Minutes", exact: true }).click();
  assert.ok(await wide.locator("#minutes").isVisible(), "a jump opens the part it leads into");
  await picture(wide, "batch-done-1280");
  await wide.goto(base + "/shelf");
  await picture(wide, "shelf-after-1280");
  await wide.context().close();
}

// The third use: a style's prices by size, and what if cloth gets dearer.
async function priceAStyle(base) {
  const page = await open(1280);
  await page.goto(base + "/prices");
  await page.getByRole("link", { name: "Meadow on slate" }).click();
  const cost = page.locator("#by-size tbody tr").first().locator("td").first();
  const before = await cost.textContent();
  await picture(page, "readme-price", { fullPage: false });
  await page.getByLabel("Cloth dearer by, %").fill("25");
  await page.getByRole("button", { name: "Show those prices" }).click();
  await page.getByText("Nothing is saved. Back").waitFor();
  assert.notEqual(await cost.textContent(), before);
  await page.getByRole("link", { name: "Back to the real ones" }).click();
  assert.equal(await cost.textContent(), before);

  // A price of one's own, and what an hour then earns.
  await page.getByLabel("What if it sold for").fill("16");
  await page.getByRole("button", { name: "Show what an hour earns" }).click();
  await page.getByRole("table", { name: "Fair at $16.00" }).waitFor();
  await accessible(page, "a price that was tried");

  // A cost sheet opens line by line, and a number leads to where it was entered.
  await page.getByRole("link", { name: "98", exact: true }).click();
  for (const line of await page.locator(".cost-line > summary").all()) await line.click();
  await accessible(page, "an open cost sheet");
  await fitsAcross(page, "an open cost sheet");
  await picture(page, "cost-sheet-open-1280");
  await page.locator(".cost-line").first().getByRole("link", { name: "your cloth" }).nth(1).click();
  assert.equal(await page.locator("h1").textContent(), "Meadow print");
  assert.match(page.url(), /#[a-z_]+$/);
  await page.context().close();
  const phone = await open(390, { hasTouch: true, isMobile: true });
  await phone.goto(base + "/prices/1");
  await phone.goto(phone.url() + "/size/" + (await phone.locator("#by-size tbody th a").first().textContent()));
  for (const line of await phone.locator(".cost-line > summary").all()) await line.tap();
  await accessible(phone, "an open cost sheet on a phone");
  await fitsAcross(phone, "an open cost sheet on a phone");
  await picture(phone, "cost-sheet-open-390");
  await phone.context().close();
}

// All prices at once, one price for all sizes, a mixed sale, a time study, a list to print.
async function countWithPrices(base) {
  const page = await open(1280);
  await page.goto(base + "/prices");
  await page.getByRole("link", { name: "Half the batch" }).click();
  await page.getByText("with what they are now").waitFor();
  await page.locator("details", { hasText: "Meadow on slate, by size" }).locator("summary").click();
  await accessible(page, "what if for all prices");
  await picture(page, "prices-what-if-1280");

  await page.goto(base + "/styles");
  await page.getByRole("link", { name: "Kindling bag" }).first().click();
  await page.getByRole("link", { name: "Time it" }).first().click();
  await page.getByLabel("Minutes of each time watched").first().fill("2.4 soon");
  await page.getByRole("button", { name: "Keep the study" }).click();
  assert.match(await page.getByRole("alert").textContent(), /is not a time/);
  await accessible(page, "a refused study");
  await page.getByLabel("Minutes of each time watched").first().fill("2.4 2.5 2:27 2.45 2.4");
  await page.getByText("Add up an allowance").click();
  await page.getByLabel("personal needs").check();
  await page.getByLabel("basic fatigue").check();
  await page.getByRole("button", { name: "Keep the study" }).click();
  await page.getByText("That was often enough").waitFor();
  await accessible(page, "a time study");
  await picture(page, "time-study-1280");
  await page.getByRole("button", { name: /Take .* over into the step/ }).click();
  await page.getByText("the step has it", { exact: true }).waitFor();

  await page.goto(base + "/prices/basket");
  await page.getByLabel("Garment").first().selectOption({ label: "Kindling bag, Sparrow, small" });
  await page.getByLabel("How many").first().fill("2");
  await page.getByLabel("Garment").nth(1).selectOption({ label: "Kiln apron, Oat and ticking, medium" });
  await page.getByRole("button", { name: "Show what it leaves" }).click();
  await page.getByText("more is kept than if each were sold alone").waitFor();
  await accessible(page, "a mixed sale");
  await picture(page, "basket-1280");

  await page.goto(base + "/prices/lists");
  await page.getByLabel("For", { exact: true }).selectOption({ label: "Shop" });
  await page.getByRole("button", { name: "Issue it with today's date" }).click();
  await page.getByText("The price list is issued").waitFor();
  await accessible(page, "a price list");
  await picture(page, "price-list-1280");
  await page.pdf({ path: path.join(out, "price-list.pdf"), format: "A4" });
  await page.emulateMedia({ media: "print" });
  assert.equal(await page.getByText("Floor then").first().isVisible(), false);
  assert.equal(await page.getByText("We ask at retail").first().isVisible(), true);
  await page.context().close();
}

// The first use of a workshop with nothing in it: from a style to a price, without script, by
// what the pages say alone.
async function firstPrice(empty) {
  const page = await open(390, { javaScriptEnabled: false });
  await page.goto(empty + "/prices");
  await page.getByRole("heading", { name: "To your first price" }).waitFor();
  await accessibleWithout(page);
  await page.getByRole("link", { name: "Costs of your year" }).click();
  await page.getByLabel("What for").first().fill("Rent of the back room");
  await page.getByLabel("Amount").first().fill("1,800");
  await page.getByRole("button", { name: "Save the year" }).click();
  await page.getByText(/it could be/).first().waitFor();
  await page.getByLabel("Amount").first().fill("1800");
  await page.getByRole("button", { name: "Save the year" }).click();
  await page.getByText("The costs of your year are saved.").waitFor();
  await page.goto(empty + "/workshop");
  await page.getByLabel("Wage per hour").fill("16");
  await page.getByRole("button", { name: "Save the settings" }).click();
  await page.goto(empty + "/shelf/cloths/new");
  await page.getByLabel("Name").fill("Poplin");
  await page.getByLabel("Full width").fill("44 in");
  await page.getByLabel("Price on the bill").fill("7.50");
  await page.getByLabel("Freight or postage").fill("6");
  await page.getByLabel("which brought").fill("8 yd");
  await page.getByRole("button", { name: "Save the cloth" }).click();
  for (const [name, kind, box, value, price] of [
    ["Thread", "used by length", "Length of a roll", "1000 m", "4.60"], ["Label", "counted", "How many in a pack", "100", "19"], ["Cord", "cut from a roll", "Length of a roll", "20 yd", "6"],
  ]) {
    await page.goto(empty + "/shelf/notions/new");
    await page.getByLabel("Name").fill(name);
    await page.getByLabel("How it is used").selectOption(kind);
    await page.getByLabel(box).fill(value);
    await page.getByLabel("Price of the roll or pack").fill(price);
    await page.getByRole("button", { name: "Save the notion" }).click();
  }
  await page.goto(empty + "/prices");
  await page.getByRole("link", { name: "Start a style" }).click();
  await page.goto(page.url().split("?")[0] + "?starter=Drawstring+bag");
  await page.getByLabel("Name").fill("Bag");
  await page.getByRole("button", { name: "Start" }).click();
  await page.getByRole("link", { name: "Add a colourway" }).click();
  await page.getByLabel("Name").fill("Plain");
  for (const list of await page.locator("select").all()) {
    const label = { "notion.cord": "Cord", "notion.thread": "Thread", "notion.label": "Label" }[await list.getAttribute("name")];
    await list.selectOption(label ? { label } : { index: 1 });
  }
  await page.getByRole("button", { name: "Save the colourway" }).click();
  await page.goto(empty + "/prices");
  assert.equal(await page.getByRole("heading", { name: "To your first price" }).count(), 0);
  await page.getByRole("link", { name: "Plain" }).click();
  await page.getByText(/ to make it, .* because .* it pays .* for each hour of work/).first().waitFor();
  assert.match(await page.locator(".lede").first().textContent(), /your cloth at what you pay for it and your hour at \$16\.00/);
  await fitsAcross(page, "the first price");
  await picture(page, "first-price-390");
  await page.locator("#by-size tbody th a").first().click();
  await page.locator(".cost-line > summary").first().click();
  assert.match(await page.locator(".cost-line").first().textContent(), /freight for that length\s*\$6\.00/);
  await picture(page, "first-cost-sheet-390");
  await page.context().close();
}

// axe needs script: the same page is looked at again with it.
async function accessibleWithout(page) {
  const twin = await open(390);
  await twin.goto(page.url());
  await accessible(twin, page.url());
  await fitsAcross(twin, page.url());
  await picture(twin, "first-prices-390");
  await twin.context().close();
}

// Orders out of a table that somebody else wrote: its columns are matched, its mistakes are
// said, and nothing is taken until it is agreed.
async function takeAFile(base) {
  const due = new Date(Date.now() + 20 * 864e5).toISOString().slice(0, 10);
  const table = (quantity) => `No;For whom;Due date;Garment;Colour;Size;Qty\nF-1;Web orders;${due};Puddle skirt;Meadow on slate;98;${quantity}\nF-1;Web orders;${due};Puddle skirt;Sparrow on moss;104;2\n`;
  for (const width of [1280, 390]) {
    const page = await open(width);
    for (const [name, quantity] of [["wrong", "many"], ["right", "3"]]) {
      await page.goto(base + "/imports/orders");
      await page.getByLabel("File", { exact: true }).setInputFiles({ name: "orders.csv", mimeType: "text/csv", buffer: Buffer.from(table(quantity)) });
      await page.getByRole("button", { name: "Look at it" }).click();
      await page.getByRole("heading", { level: 1, name: "orders.csv" }).waitFor();
      assert.match(await page.locator("#mistakes").textContent(), /"customer" is missing/);
      await picture(page, `import-unmatched-${width}`);
      await page.locator('select[name="c.customer"]').selectOption({ label: "For whom" });
      await page.getByRole("button", { name: "Look again" }).click();
      await accessible(page, `a ${name} table at ${width}`);
      await fitsAcross(page, `a ${name} table at ${width}`);
      await picture(page, `import-${name}-${width}`);
      if (name === "wrong") assert.match(await page.locator("#mistakes").textContent(), /"many"/);
    }
    if (width === 1280) {
      assert.match(await page.locator("#would").textContent(), /1 order, 5 garments/);
      await page.getByRole("button", { name: "Take it" }).click();
      await page.waitForURL(/\/orders\?/);
      // A hand that goes back and presses again doubles nothing.
      await page.goBack();
      await page.waitForLoadState();
      const again = page.getByRole("button", { name: "Take it" });
      if (await again.count()) await again.click();
      await page.getByText("was not found").waitFor();
    } else {
      assert.match(await page.locator("#would").textContent(), /Nothing would change: 1 that is here already/);
      assert.equal(await page.getByRole("button", { name: "Take it" }).count(), 0);
    }
    if (width === 390) await takeTableAgain(base, page, table("3") + `F-2;Web orders;${due};Puddle skirt;Meadow on slate;98;4\n`);
    for (const [number, garments] of width === 1280 ? [["F-1", 5]] : [["F-1", 5], ["F-2", 4]]) {
      await page.goto(`${base}/orders?q=${number}`);
      const order = page.getByRole("link", { name: number, exact: true });
      assert.equal(await order.count(), 1, `${number}: taken twice, there once`);
      await order.click();
      assert.match(await page.locator("dl").first().textContent(), new RegExp(`Garments\\s*${garments}\\b`), `${number}: its quantities as in the file`);
    }
    await page.context().close();
  }
}

// takeTableAgain takes a table that holds an order already taken, and one that is new.
async function takeTableAgain(base, page, content) {
  await page.goto(base + "/imports/orders");
  await page.getByLabel("File", { exact: true }).setInputFiles({ name: "orders.csv", mimeType: "text/csv", buffer: Buffer.from(content) });
  await page.getByRole("button", { name: "Look at it" }).click();
  await page.locator('select[name="c.customer"]').selectOption({ label: "For whom" });
  await page.getByRole("button", { name: "Look again" }).click();
  assert.match(await page.locator("#would").textContent(), /1 order, 4 garments/, "only what is new would be taken");
  await page.getByRole("button", { name: "Take it" }).click();
  await page.waitForURL(/\/orders\?/);
}

// Selling at the fair with a thumb on a phone, with and without script.
async function sellAtTheFair(base) {
  for (const [javaScriptEnabled, shot] of [[true, "fair-list-390"], [false, "fair-list-plain-390"]]) {
    const page = await open(390, { hasTouch: true, isMobile: true, javaScriptEnabled });
    await page.goto(base + "/orders/fair");
    const way = page.locator("details.fair-way").filter({ hasText: "Meadow on slate" });
    await way.locator("summary").tap();
    await way.getByRole("button", { name: "One Meadow on slate in size 98" }).tap();
    await page.getByText("1 garment", { exact: true }).waitFor();
    await way.getByRole("button", { name: /One Meadow on slate in size 104/ }).tap();
    await page.getByText("2 garments", { exact: true }).waitFor();
    await page.getByRole("button", { name: "One less of Meadow on slate Puddle skirt, 98" }).tap();
    await page.getByText("1 garment", { exact: true }).waitFor();
    if (javaScriptEnabled) {
      await accessible(page, "the fair with a list");
      await fitsAcross(page, "the fair with a list");
    }
    await picture(page, shot);
    await page.getByLabel("Fair", { exact: true }).selectOption({ label: "Osier Green Fair" });
    await page.getByLabel("Price in all").fill("36");
    await page.getByRole("button", { name: "Paid and taken along" }).tap();
    await page.getByText("Sold. The next one?").waitFor();
    await page.context().close();
  }
}

// An owner, a helper, and a form that survives being signed out. This comes last: from then on
// everybody signs in.
async function signIn(base) {
  const page = await open(1280);
  await page.goto(base + "/workshop");
  await page.getByLabel("Your name").fill("Marlo");
  await page.getByLabel(/^Password/).fill("short");
  await page.getByRole("button", { name: "Make me the owner" }).click();
  assert.match(await page.getByRole("alert").textContent(), /at least 8 characters/);
  await accessible(page, "a refused owner");
  await page.getByLabel(/^Password/).fill("four calm chalk lines");
  await page.getByRole("button", { name: "Make me the owner" }).click();
  await page.getByText("You are the owner now").waitFor();
  await page.getByLabel("Name").fill("Ines");
  await page.getByRole("button", { name: "Add and make a link" }).click();
  const link = (await page.locator("#link code").textContent()).trim();
  for (const width of [1280, 390]) {
    await page.setViewportSize({ width, height: 900 });
    await accessible(page, `people at ${width}`);
    await fitsAcross(page, `people at ${width}`);
    await picture(page, `people-${width}`);
    await valid(await page.goto(base + "/account"), "/account");
    await accessible(page, `account at ${width}`);
    await fitsAcross(page, `account at ${width}`);
    await picture(page, `account-${width}`);
    await valid(await page.goto(base + "/people"), "/people");
  }

  const ines = await open(390, { hasTouch: true, isMobile: true });
  await valid(await ines.goto(link), "/join");
  await accessible(ines, "a link to join");
  await picture(ines, "join-390");
  await ines.getByLabel(/^New password/).fill("pins and needles");
  await ines.getByRole("button", { name: "Use this password and sign in" }).tap();
  await ines.getByRole("heading", { level: 1, name: /Today/ }).waitFor();
  for (const p of ["/", "/orders", "/shelf", "/batches/1", "/styles/1"]) {
    await valid(await ines.goto(base + p), `${p} for a helper`);
    await accessible(ines, `${p} for a helper`);
    await fitsAcross(ines, `${p} for a helper`);
    assert.doesNotMatch(await ines.locator("body").innerText(), /\$/, p);
  }
  await picture(ines, "style-helper-390");
  await ines.context().close();

  // Signed out in the middle of an order: it comes back, and is saved when Marlo says so.
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.goto(base + "/orders/new");
  await page.getByLabel("Customer", { exact: true }).selectOption({ label: "Web orders (online)" });
  await page.getByLabel("Number").fill("B-9");
  await page.getByLabel("Meadow on slate, Puddle skirt, size 98").fill("3");
  await page.context().clearCookies();
  await page.getByRole("button", { name: "Save the order" }).click();
  await page.getByText("Nothing that you typed is lost").waitFor();
  await accessible(page, "the sign-in");
  await picture(page, "sign-in-1280");
  await page.getByLabel("Name").fill("Marlo");
  await page.getByLabel("Password").fill("four calm chalk lines");
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByText("You had been signed out").first().waitFor();
  assert.equal(await page.getByLabel("Meadow on slate, Puddle skirt, size 98").inputValue(), "3");
  await accessible(page, "an order that came back");
  await picture(page, "order-came-back-1280");
  await page.getByRole("button", { name: "Save the order" }).click();
  await page.getByText("The order is saved.").waitFor();
  assert.equal(await page.locator("h1").textContent(), "Order B-9");
  await page.getByRole("button", { name: "Cancel the order" }).click();
  await page.getByRole("button", { name: "Undo" }).click();
  assert.match(await page.locator("dl").textContent(), /State\s*open/);
  await page.context().close();
}

// walk takes one walk through the pages, and says how long it was.
async function walk(name, steps) {
  const began = performance.now();
  await steps();
  console.log(`ok - ${name} (${((performance.now() - began) / 1000).toFixed(1)} s)`);
}

// The lanes are walks one after the other. Each has a workshop of its own, so that they go side
// by side: while one waits for a page, the other looks at one.
async function look(base) {
  const tools = { open, base, accessible, fitsAcross, picture };
  await walk(`${paths.length} pages at two widths`, () => everyPage(base));
  await walk("days and times in the reader's manner", () => readElsewhere(tools));
  await walk("markers looked at closely", () => lookAtMarkers(tools));
}

async function cut(base) {
  await walk("an order by the keyboard", () => enterAnOrder(base));
  await walk("an order by thumb, and without script", () => enterAnOrderOtherwise(base));
  await walk("a size run like a spreadsheet", () => typeASizeRun({ open, base, accessible, fitsAcross, picture }));
  await walk("a batch and its cut sheet", () => seeABatch(base));
  await walk("a batch released, cut, undone, and done", () => workABatch(base));
}

async function sell(base) {
  await walk("prices by size and what if", () => priceAStyle(base));
  await walk("counting with prices", () => countWithPrices(base));
  await walk("a table of orders taken in", () => takeAFile(base));
  await walk("two people at the same cloth", () => changeTogether({ open, base, accessible, fitsAcross, picture }));
  await walk("a sale at the fair, with and without script", () => sellAtTheFair(base));
  await walk("an owner, a helper, and nothing typed is lost", () => signIn(base));
}

// year is walked on a phone and on a wide screen where that was asked for, each in a workshop that
// begins with nothing.
async function year() {
  const tools = { open, accessible, fitsAcross, picture };
  if (!lanes.narrow) return;
  await walk("a year of a workshop on a phone", () => liveAYear(lanes.narrow, 390, tools));
  await walk("a year of a workshop on a wide screen", () => liveAYear(lanes.wide, 1280, tools));
}

try {
  await walk("planted faults are found", faultsAreFound);
  await Promise.all([look(lanes.look), cut(lanes.cut), sell(lanes.sell), walk("a first price", () => firstPrice(lanes.empty)), year()]);
  assert.deepEqual(complaints, []);
  console.log("ok - no console errors, nothing for axe, nothing too wide");
} catch (error) {
  console.error(error.message);
  console.error(complaints.join("\n"));
  process.exitCode = 1;
} finally {
  await browser.close();
}
