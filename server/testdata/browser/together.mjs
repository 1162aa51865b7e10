// Two people change the same thing: the second is told what the first has saved, and loses
// nothing; and a planning whose page lost its connection goes on being told.
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
  console.log("ok - two people at the same cloth");
}
