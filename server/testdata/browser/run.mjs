// Tries the pages in a real browser: every page at two widths, with axe and without console
// errors; then the three uses, as a person would do them.
// Usage: node run.mjs BASE_URL OUT_DIR PATHS.json
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import AxeBuilder from "@axe-core/playwright";

const [base, out, pathsFile] = process.argv.slice(2);
const paths = JSON.parse(fs.readFileSync(pathsFile, "utf8"));
fs.mkdirSync(out, { recursive: true });

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const complaints = [];

// open makes a page whose errors are noted; expected lists status codes that are meant.
async function open(width, options = {}) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, locale: "en-US", ...options });
  const page = await context.newPage();
  page.on("console", (m) => {
    if (m.type() === "error" && !/status of 422/.test(m.text())) complaints.push(`${page.url()}: ${m.text()}`);
  });
  page.on("pageerror", (e) => complaints.push(`${page.url()}: ${e.message}`));
  page.on("requestfailed", (r) => {
    if (!/ERR_ABORTED/.test(r.failure()?.errorText ?? "")) complaints.push(`${r.url()}: ${r.failure()?.errorText}`);
  });
  return page;
}

async function accessible(page, where) {
  const result = await new AxeBuilder({ page }).analyze();
  for (const violation of result.violations) {
    complaints.push(`${where}: ${violation.id}: ${violation.nodes.slice(0, 2).map((n) => n.html.slice(0, 120)).join(" | ")}`);
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

async function everyPage() {
  for (const width of [1280, 390]) {
    const page = await open(width);
    for (const p of paths) {
      const response = await page.goto(base + p);
      assert.equal(response.status(), 200, p);
      await accessible(page, `${p} at ${width}`);
      await fitsAcross(page, `${p} at ${width}`);
      await picture(page, pictureName(p, width));
    }
    await page.context().close();
  }
  console.log(`ok - ${paths.length} pages at two widths`);
}


// The first use: an order by the keyboard alone.
async function enterAnOrder() {
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
  console.log("ok - an order by the keyboard");
}

// The same by thumb on a phone, and without any script.
async function enterAnOrderOtherwise() {
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
  console.log("ok - an order by thumb, and without script");
}

// The second use: a batch, planned live, and its cut sheet.
async function seeABatch() {
  const page = await open(1280);
  await page.goto(base + "/batches/new");
  await page.getByLabel("Name").fill("Browser run");
  await page.getByRole("button", { name: "Make the batch and plan it" }).click();
  await page.getByRole("link", { name: "Cut sheet to print" }).waitFor({ timeout: 60000 });
  await accessible(page, "a planned batch");
  await picture(page, "batch-planned-1280");
  await picture(page, "readme-batch", { fullPage: false });
  await page.getByRole("link", { name: "Cut sheet to print" }).click();
  await page.getByRole("heading", { level: 1 }).waitFor();
  assert.ok((await page.locator("svg").count()) > 2);
  await page.pdf({ path: path.join(out, "cut-sheet.pdf"), format: "A4" });
  await page.context().close();
  console.log("ok - a batch and its cut sheet");
}

// The third use: a style's prices by size, and what if cloth gets dearer.
async function priceAStyle() {
  const page = await open(1280);
  await page.goto(base + "/prices");
  await page.getByRole("link", { name: "Meadow on slate" }).click();
  const cost = page.locator("tbody tr").first().locator("td").first();
  const before = await cost.textContent();
  await picture(page, "readme-price", { fullPage: false });
  await page.getByText("Cost sheet, line by line").first().click();
  await accessible(page, "an open cost sheet");
  await page.getByLabel("Cloth dearer by, %").fill("25");
  await page.getByRole("button", { name: "Show those prices" }).click();
  await page.getByText("Nothing is saved").waitFor();
  assert.notEqual(await cost.textContent(), before);
  await page.getByRole("link", { name: "Back to the real ones" }).click();
  assert.equal(await cost.textContent(), before);
  await page.context().close();
  console.log("ok - prices by size and what if");
}

try {
  await everyPage();
  await enterAnOrder();
  await enterAnOrderOtherwise();
  await seeABatch();
  await priceAStyle();
  assert.deepEqual(complaints, []);
  console.log("ok - no console errors, nothing for axe, nothing too wide");
} catch (error) {
  console.error(error.message);
  console.error(complaints.join("\n"));
  process.exitCode = 1;
} finally {
  await browser.close();
}
