// A maker's year in short, in a workshop that begins with nothing: a skirt of her own, eighteen of
// them ordered, planned, their cloth bought and received, cut, sewn, timed, handed over, and one
// sold at a fair. By what the pages say alone, without a dead end.
import assert from "node:assert/strict";

const sizes = { 98: 4, 104: 6, 110: 5, 116: 3 };

async function save(page, name) { await page.getByRole("button", { name, exact: true }).click(); }

async function stockUp(page, base) {
  await page.goto(base + "/workshop");
  await page.getByLabel("Wage per hour").fill("$18");
  await save(page, "Save the settings");
  await page.getByText("The settings are saved.").waitFor();
  for (const [name, width, price] of [["Harebell lawn", "44 in", "$8.50"], ["Flint poplin", "45 in", "6,90"]]) {
    await page.goto(base + "/shelf/cloths/new");
    await page.getByLabel("Name").fill(name);
    await page.getByLabel("Full width").fill(width);
    await page.getByLabel("Price on the bill").fill(price);
    await save(page, "Save the cloth");
    await page.getByText("The cloth is saved.").waitFor();
  }
  for (const [name, kind, box, value, price] of [
    ["Soft elastic", "cut from a roll", "Length of a roll", "25 yd", "9"], ["Thread", "used by length", "Length of a roll", "1000 m", "4.60"], ["Label", "counted", "How many in a pack", "50", "12"],
  ]) {
    await page.goto(base + "/shelf/notions/new");
    await page.getByLabel("Name").fill(name);
    await page.getByLabel("How it is used").selectOption(kind);
    await page.getByLabel(box).fill(value);
    await page.getByLabel("Price of the roll or pack").fill(price);
    await save(page, "Save the notion");
  }
}

async function makeAStyle(page, base) {
  await page.goto(base + "/styles/new?starter=Gathered+skirt");
  await page.getByLabel("Your name for it").fill("Hedgerow skirt");
  await save(page, "Start this style");
  await page.getByRole("link", { name: "Add a colourway" }).click();
  await page.getByLabel("Name").fill("Harebell");
  const chosen = { "cloth.body": "Harebell lawn", "notion.elastic": "Soft elastic", "notion.thread": "Thread", "notion.label": "Label" };
  for (const list of await page.locator("main select").all()) {
    const name = chosen[await list.getAttribute("name")] ?? "Flint poplin";
    await list.selectOption(await list.locator("option", { hasText: name }).first().getAttribute("value"));
  }
  await save(page, "Save the colourway");
  await page.goto(base + "/prices");
  await page.getByRole("link", { name: "Harebell" }).first().click();
  await page.getByLabel("Only Harebell, all sizes, Fair").fill("$34");
  await save(page, "Save your prices");
  await page.getByText("Your prices are saved.").first().waitFor();
}

async function takeAnOrder(page, base, customer, number) {
  await page.goto(base + "/orders/new");
  await page.getByLabel("Name", { exact: true }).fill(customer);
  await page.getByLabel("Number").fill(number);
  for (const [size, count] of Object.entries(sizes)) await page.getByLabel(`Harebell, Hedgerow skirt, size ${size}`).fill(String(count));
  await save(page, "Save the order");
  await page.getByText("The order is saved.").waitFor();
}

// buyAll buys what the list of a batch's page says, row by row, and receives it.
export async function buyAll(page) {
  for (let rows = await page.locator("#shopping .buy > li").count(); rows > 0; rows--) {
    const row = page.locator("#shopping .buy > li").first();
    await row.getByRole("checkbox").check();
    await row.getByText("Bought it").click();
    const lot = row.getByRole("textbox", { name: "Shade lot" });
    if (await lot.count()) {
      await lot.fill(`L${rows}`);
      await row.getByRole("textbox", { name: "Place" }).fill("shelf 1");
    }
    await row.getByRole("button", { name: "Put it on the shelf" }).click();
    await page.getByText(/is on the shelf/).first().waitFor();
  }
}

async function cutAndSew(page, looked) {
  const all = Number((await page.getByText(/^0 of \d+ lays? (is|are) cut/).textContent()).match(/of (\d+)/)[1]);
  for (let cut = 1; cut <= all; cut++) {
    await page.getByRole("button", { name: "This lay is cut" }).click();
    const notice = page.getByRole("status").filter({ hasText: "The lay is marked as cut" });
    await notice.waitFor();
    assert.ok(await notice.getByRole("button", { name: "Undo" }).evaluate((b) => { const r = b.getBoundingClientRect(); return r.top >= 0 && r.bottom <= window.innerHeight; }),
      "Undo is in sight after a lay is cut");
    if (cut < all) assert.equal(await page.getByRole("link", { name: /^Next: .*, lay \d+$/ }).first().isVisible(), true, "the next lay is one tap away");
  }
  await looked("year-cut");
  for (const take of await page.locator("form[action$='/take'] button").all()) await take.dispatchEvent("click").catch(() => {});
  for (;;) {
    await page.goto(page.url().replace(/[?#].*/, "") + "#elastic");
    const take = page.locator("form[action$='/take'] button").first();
    if (!await take.count()) break;
    await take.click();
    await page.getByText("It is taken from the shelf.").waitFor();
  }
  await page.goto(page.url().replace(/[?#].*/, "") + "#bundles");
  for (const box of await page.locator("#bundles input[type=checkbox]").all()) await box.check();
  await save(page, "The ticked bundles are sewn");
  await page.getByText("The bundles are ticked off.").waitFor();
}

// liveAYear walks through all of it at one width.
export async function liveAYear(base, width, { open, accessible, fitsAcross, picture }) {
  const page = await open(width, width < 500 ? { hasTouch: true, isMobile: true } : {});
  const looked = async (name) => {
    await accessible(page, `${name} at ${width}`);
    await fitsAcross(page, `${name} at ${width}`);
    await picture(page, `${name}-${width}`);
  };
  await stockUp(page, base);
  await makeAStyle(page, base);
  await looked("year-price");
  await takeAnOrder(page, base, "Bracken Hill Fair", "Y-1");
  await page.goto(base + "/batches/new");
  await page.getByLabel("Name").fill("Spring run");
  await save(page, "Make the batch and plan it");
  await page.getByRole("link", { name: /^Buy .*Harebell lawn/ }).waitFor();
  assert.equal(await page.getByRole("button", { name: "Start cutting", exact: true }).count(), 0, "no release that would be refused");
  await looked("year-planned");
  const address = page.url().replace(/[?#].*/, "");
  await page.getByRole("link", { name: /^Buy / }).click();
  await buyAll(page);
  await page.goto(base + "/shopping");
  await page.getByText("Nothing to buy").waitFor();
  await page.goto(address);
  await looked("year-bought");
  await save(page, "Start cutting");
  await page.getByRole("status").getByText("Ready to cut: its cloth").first().waitFor();
  await cutAndSew(page, looked);

  await page.goto(address + "/took");
  await noteMinutes(page);
  await page.goto(address);
  await page.getByText(/^18 × Hedgerow skirt: priced at \$612\.00, 9 h 30 min worked.* an hour earned/).first().waitFor();
  await looked("year-done");

  await page.goto(base + "/orders?q=Y-1");
  await page.getByRole("link", { name: "Y-1", exact: true }).click();
  await page.getByRole("button", { name: /handed over|Hand/i }).first().click();
  await page.getByText("The order is moved on.").waitFor();
  await sellOne(page, base, looked);
  await page.context().close();
}

async function noteMinutes(page) {
  await page.getByRole("textbox", { name: "Time worked" }).fill("9 h 30");
  await save(page, "Note these minutes");
  await page.getByText("The minutes are noted.").waitFor();
}

async function sellOne(page, base, looked) {
  await page.goto(base + "/orders/fair");
  const way = page.locator("details.fair-way").filter({ hasText: "Harebell" });
  if (!await way.evaluate((d) => d.open)) await way.locator("summary").click();
  await way.getByRole("button", { name: "One Harebell in size 104" }).click();
  await page.getByText(/^1 garment, \$34/).waitFor();
  await page.getByLabel("Fair", { exact: true }).selectOption({ label: "Bracken Hill Fair" });
  assert.equal(await page.getByLabel("Price in all").inputValue(), "34.00", "the typed price is suggested");
  await looked("year-fair");
  await page.getByRole("button", { name: "Paid and taken along" }).click();
  await page.getByText("Sold. The next one?").waitFor();
}
