// The size run of an order, as a spreadsheet: keys, pasted blocks, sums, and what is no quantity.
import assert from "node:assert/strict";

export async function typeASizeRun({ open, base, accessible, fitsAcross, picture }) {
  for (const width of [1280, 390]) {
    const page = await open(width);
    await page.goto(base + "/orders/new");
    const table = page.locator("table[data-run]").filter({ has: page.getByLabel("Meadow on slate, Puddle skirt, size 98") });
    const said = page.locator("details", { has: table }).locator("[data-run-said]");
    const boxes = table.locator("tbody input");
    const columns = await table.locator("tbody tr").first().locator("input").count();
    const rows = await table.locator("tbody tr").count();
    const box = (r, c) => boxes.nth(r * columns + c);
    const at = () => page.evaluate(() => [...document.activeElement.closest("table").querySelectorAll("tbody input")].indexOf(document.activeElement));
    const press = async (key, r, c) => { await page.keyboard.press(key); assert.equal(await at(), r * columns + c, key); };
    const totals = async () => [await table.locator("[data-row-total]").allTextContents(), await table.locator("[data-total]").textContent()];
    const paste = (where, text) => where.evaluate((b, block) => {
      b.focus();
      const data = new DataTransfer();
      data.setData("text", block);
      b.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
    }, text);
    assert.ok(rows >= 2 && columns >= 3);

    await box(0, 0).focus();
    await press("ArrowRight", 0, 1);
    await press("ArrowDown", 1, 1);
    await press("ArrowUp", 0, 1);
    await press("End", 0, columns - 1);
    await press("ArrowRight", 0, columns - 1); // there is nothing beyond
    await press("Home", 0, 0);
    await press("ArrowLeft", 0, 0);
    await press("Enter", 1, 0);
    await press("Shift+Enter", 0, 0);
    await press("Control+End", rows - 1, columns - 1);
    await press("Enter", rows - 1, columns - 1); // and the order is not sent from the last row
    await press("Control+Home", 0, 0);
    await page.keyboard.type("12");
    await page.keyboard.press("ArrowLeft");
    await page.keyboard.press("ArrowLeft");
    assert.equal(await at(), 0, "within a number the arrows move in it first");

    // A block, as spreadsheets copy it; an empty cell empties its box.
    await box(0, 1).fill("9");
    await paste(box(0, 0), "1\t\t3\r\n4\t5\t6\r\n");
    assert.deepEqual(await Promise.all([[0, 0], [0, 1], [0, 2], [1, 0], [1, 1], [1, 2]].map(([r, c]) => box(r, c).inputValue())), ["1", "", "3", "4", "5", "6"]);
    assert.deepEqual((await totals())[0].slice(0, 2), ["4", "15"]);
    assert.equal((await totals())[1], "19");
    assert.equal(await table.locator("[data-column-total]").nth(2).textContent(), "9");
    assert.match(await said.textContent(), /6 boxes were filled/);
    await said.getByRole("button", { name: "Put back what was there" }).click();
    assert.equal(await box(0, 1).inputValue(), "9");
    assert.equal(await box(0, 0).inputValue(), "12");

    // More than fits is said, with the figures.
    await paste(box(rows - 1, columns - 2), "21\t22\t23\n24\t25\t26");
    assert.equal(await box(rows - 1, columns - 1).inputValue(), "22");
    assert.match(await said.textContent(), /2 boxes were filled\. There is no box for these 4: 23, 24, 25, 26\./);
    await accessible(page, "a pasted block that doesn't fit");
    await fitsAcross(page, "a pasted block that doesn't fit");
    await picture(page, `order-pasted-${width}`);

    // What is no quantity is marked at once, kept, and not counted.
    for (const wrong of ["-3", "two", "1.5", "10001"]) {
      await box(0, 0).fill(wrong);
      await page.keyboard.press("Tab");
      assert.equal(await box(0, 0).getAttribute("aria-invalid"), "true", wrong);
      assert.match(await said.textContent(), /is not a quantity/);
      assert.equal((await totals())[0][0], "9", wrong);
    }
    await box(0, 0).fill("");
    await page.keyboard.press("Tab");
    assert.equal(await box(0, 0).getAttribute("aria-invalid"), null);
    assert.equal(await said.isVisible(), false);
    await page.context().close();
  }
}
