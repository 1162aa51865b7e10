// Two people change the same thing: the second is told what the first has saved, and loses
// nothing. And readers in other countries, and those who want no motion.
import assert from "node:assert/strict";

export async function changeTogether({ open, base, accessible, fitsAcross, picture }) {
  const first = await open(1280);
  await first.goto(base + "/shelf");
  await first.getByRole("link", { name: "Oat canvas" }).first().click();
  const address = first.url();
  for (const width of [1280, 390]) {
    const second = await open(width);
    await first.goto(address);
    await second.goto(address);
    await first.getByRole("textbox", { name: "Content" }).fill(`cotton, said at ${width}`);
    await first.getByRole("button", { name: "Save the cloth" }).click();
    await first.getByText("The cloth is saved.").waitFor();
    await second.getByRole("textbox", { name: "Content" }).fill("linen, as I read it");
    await second.getByRole("button", { name: "Save the cloth" }).click();
    await second.getByRole("heading", { name: "Somebody else has saved this in the meantime" }).waitFor();
    assert.match(await second.locator(".changed tbody").textContent(), new RegExp(`cotton, said at ${width}.*linen, as I read it`));
    assert.equal(await second.getByRole("textbox", { name: "Content" }).inputValue(), "linen, as I read it");
    await accessible(second, "what somebody else has saved");
    await fitsAcross(second, "what somebody else has saved");
    await picture(second, `changed-meanwhile-${width}`);
    await second.getByRole("button", { name: "Take what is saved as Content" }).click();
    assert.equal(await second.getByRole("textbox", { name: "Content" }).inputValue(), `cotton, said at ${width}`);
    await second.getByRole("textbox", { name: "Content" }).fill("cotton and linen");
    await second.getByRole("button", { name: "Save the cloth" }).click();
    await second.getByText("The cloth is saved.").waitFor();
    await second.context().close();
  }
  await first.context().close();
}

// Days and times are written in the reader's manner and by their clock; nothing moves for those
// who want no motion.
export async function readElsewhere({ open, base }) {
  for (const [locale, timezoneId, day, moment] of [
    ["en-US", "America/New_York", /^Today, [A-Z][a-z]{2}, [A-Z][a-z]{2} \d{1,2}, \d{4}$/, /^[A-Z][a-z]{2}, [A-Z][a-z]{2} \d{1,2}, \d{4}, \d{1,2}:\d\d [ap]m$/],
    ["de-DE", "Asia/Tokyo", /^Today, [A-Z][a-z]{2}, \d{1,2} [A-Z][a-z]{2} \d{4}$/, /^[A-Z][a-z]{2}, \d{1,2} [A-Z][a-z]{2} \d{4}, \d\d:\d\d$/],
  ]) {
    const page = await open(1280, { locale, timezoneId, reducedMotion: "reduce" });
    await page.goto(base + "/");
    assert.match(await page.locator("h1").textContent(), day);
    assert.equal(await page.locator(".button").first().evaluate((b) => getComputedStyle(b).transitionDuration), "0s");
    await page.goto(base + "/shelf");
    await page.goto(base + await page.locator('a[href^="/shelf/bolts/"]:not([href$="new"])').first().getAttribute("href"));
    const time = page.locator("time[data-moment]").first();
    assert.match(await time.textContent(), moment);
    const minutes = await time.evaluate((t) => { const at = new Date(t.dateTime); return `${at.getHours() % 12 || 12}:${String(at.getMinutes()).padStart(2, "0")}`; });
    const [, hours, rest] = (await time.textContent()).match(/(\d{1,2}):(\d\d)/);
    assert.equal(`${Number(hours) % 12 || 12}:${rest}`, minutes, "by the reader's own clock");
    await page.context().close();
  }
}
