// The lit prop, seen: its own light on the picture, and what goes in taken out of its place.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, ask, browse, folder, lamp, open, ready, settled, visit } from "./bench.mjs";

const home = folder();
let browser, bench, seen;
const page = () => seen.page;
before(async () => {
  browser = await browse();
  bench = await open([lamp(home.dir), "--port", "0"], home.dir);
  seen = await visit(browser, bench.url);
  await ready(page());
  await settled(page());
});
after(async () => {
  assert.deepEqual([seen?.strayed, seen?.broken], [[], []]);
  await browser?.close();
  await bench?.kill();
  home.away();
});

const stage = () => page().getByRole("group", { name: "The prop" });
/** The stage as it is drawn, once nothing changes any more. */
async function shot() {
  let last = await stage().screenshot();
  for (let i = 0; i < 40; i += 1) {
    await page().waitForTimeout(150);
    const next = await stage().screenshot();
    if (next.equals(last)) return next;
    last = next;
  }
  throw new Error("the picture does not come to rest");
}

/** Mean red, green and blue, 0 to 255, of a picture between two shares of its width, in the middle third of its height. */
function means(png, from, to) {
  return page().evaluate(
    async ([text, from, to]) => {
      const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
      const picture = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
      const { width, height } = picture;
      const on = new OffscreenCanvas(width, height).getContext("2d");
      on.drawImage(picture, 0, 0);
      const [x, y] = [Math.round(from * width), Math.round(height / 3)];
      const { data } = on.getImageData(x, y, Math.round(to * width) - x, Math.round(height / 3));
      const sums = [0, 0, 0];
      for (let i = 0; i < data.length; i += 1) if (i % 4 < 3) sums[i % 4] += data[i];
      return sums.map((s) => s / (data.length / 4));
    },
    [png.toString("base64"), from, to],
  );
}
const sum = (rgb) => rgb[0] + rgb[1] + rgb[2];

// The blade is the last 110 of 260 mm, the grip the first 150.
const BLADE = [0.68, 0.86];
const GRIP = [0.15, 0.45];

test("lit, the blade is brighter than unlit and the grip is not; its colour is the one that is chosen", async (t) => {
  await page().getByRole("button", { name: "Dark room" }).click();
  const dark = await shot();
  await page().getByRole("button", { name: "Lit", exact: true }).click();
  await page().getByText("Seen in a dark room").waitFor();
  const white = await shot();
  const of = async (picture) => ({ blade: await means(picture, ...BLADE), grip: await means(picture, ...GRIP) });
  const [off, on] = [await of(dark), await of(white)];
  t.diagnostic(`blade ${off.blade.map(Math.round)} unlit, ${on.blade.map(Math.round)} lit; grip ${off.grip.map(Math.round)} and ${on.grip.map(Math.round)}`);
  assert.ok(sum(on.blade) > 1.5 * sum(off.blade), "the blade shines");
  assert.ok(Math.abs(sum(on.grip) - sum(off.grip)) < 0.1 * sum(off.grip), "the grip does not");
  await accessible(page(), "lit in a dark room");

  await page().getByLabel("Colour").fill("#ff0000");
  const red = (await of(await shot())).blade;
  assert.ok(red[0] - off.blade[0] > 4 * Math.abs(red[2] - off.blade[2]), `red and not blue: ${red}`);
  await page().getByRole("slider", { name: /^Driven/ }).fill("0.2");
  const low = (await of(await shot())).blade;
  assert.ok(low[0] < red[0], "less is darker");
  await page().getByRole("button", { name: "Lit", exact: true }).click();
  assert.ok((await shot()).equals(dark), "and unlit again it is as it was");
  await page().getByRole("button", { name: "Dark room" }).click();
});

test("a lid and the cell behind it are taken out and put back, by keys; who spares motion sees none", async () => {
  const { ways } = (await ask(bench.url, "/api/scene")).said;
  assert.deepEqual(ways.map((w) => w.kind).sort(), ["lid", "part"]);
  await page().getByRole("button", { name: "From the grip" }).click();
  const seated = await shot();
  const choice = page().getByLabel("Take out");
  const names = await choice.locator("option").allTextContents();
  const lid = names.find((n) => n.startsWith("lid"));
  assert.ok(lid, `a lid among ${names}`);
  await choice.selectOption(lid);
  const slider = page().getByRole("slider", { name: "Way out" });
  assert.equal(await slider.getAttribute("aria-valuetext"), "free", "at once");
  const free = await shot();
  assert.ok(!free.equals(seated));
  await accessible(page(), "a lid taken off");
  await slider.focus();
  for (let i = 0; i < 10; i += 1) await page().keyboard.press("ArrowLeft");
  assert.equal(await slider.getAttribute("aria-valuetext"), "80 % of its way out");
  const between = await shot();
  assert.ok(!between.equals(free) && !between.equals(seated));
  await page().keyboard.press("Home");
  assert.equal(await slider.getAttribute("aria-valuetext"), "on its seat");
  assert.ok((await shot()).equals(seated));

  await choice.selectOption("cell");
  const out = await shot();
  assert.ok(!out.equals(seated) && !out.equals(free), "the cell is out, its lid away");
  for (const width of [390, 640]) {
    await page().setViewportSize({ width, height: 844 });
    await accessible(page(), `a cell taken out, ${width} px`);
  }
  await page().setViewportSize({ width: 1440, height: 900 });
  await choice.selectOption("nothing");
  assert.equal(await slider.count(), 0);
  assert.ok((await shot()).equals(seated));
});

test("who does not spare motion sees it come out", async () => {
  const { page, close } = await visit(browser, bench.url, { colorScheme: "dark", reducedMotion: "no-preference" });
  await ready(page);
  const choice = page.getByLabel("Take out");
  await choice.selectOption("cell");
  const slider = page.getByRole("slider", { name: "Way out" });
  const value = async () => Number(await slider.inputValue());
  const early = await value();
  assert.ok(early < 1, `${early} of its way at first`);
  await page.waitForFunction(() => document.querySelector(".way-share")?.textContent === "free");
  await accessible(page, "a cell taken out, dark");
  await close();
});
