// A phone at the bench: paired by a code that works once, refused without it.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, browse, folder, open, visit } from "./bench.mjs";

const home = folder();
let browser, bench;
before(async () => {
  browser = await browse();
  bench = await open(["--port", "0", "--lan"], home.dir);
});
after(async () => {
  await browser?.close();
  await bench?.kill();
  home.away();
});

test("a code pairs one device, once; without one nothing is answered", async () => {
  const here = await visit(browser, bench.url);
  await here.page.waitForSelector(".drop");
  await here.page.getByRole("button", { name: "To a phone" }).click();
  const dialog = here.page.getByRole("dialog");
  // A picture that was drawn, not only asked for.
  await here.page.waitForFunction(() => document.querySelector(".qr")?.naturalWidth >= 200);
  await accessible(here.page, "a code to scan");
  const code = await dialog.locator("code.address").textContent();
  const elsewhere = new URL(code).origin;
  assert.notEqual(elsewhere, new URL(bench.url).origin, "asked by the network's address, as a phone asks");

  const phone = await visit(browser, elsewhere, { width: 390, height: 844 });
  await phone.page.getByRole("heading", { name: "This device is not paired" }).waitFor();
  const asked = async (context, path) => (await context.request.get(new URL(path, elsewhere).href)).status();
  for (const path of ["/", "/api/state", "/api/project", "/api/events"]) {
    assert.equal(await asked(phone.page.context(), path), 401, path);
  }
  assert.equal((await phone.page.goto(`${elsewhere}/pair/${"0".repeat(32)}`)).status(), 403);

  await phone.page.goto(code);
  await phone.page.waitForSelector(".drop");
  await accessible(phone.page, "paired, on a phone");
  assert.equal(await phone.page.getByRole("button", { name: "To a phone" }).count(), 0, "codes are shown where it runs only");
  const cookies = await phone.page.context().cookies();
  assert.deepEqual(cookies.map((c) => [c.httpOnly, c.sameSite]), [[true, "Strict"]]);

  // The same code once more, by somebody else.
  const other = await visit(browser, elsewhere, { width: 390, height: 844, colorScheme: "dark" });
  const again = await other.page.goto(code);
  assert.equal(again.status(), 403);
  await other.page.getByRole("heading", { name: "This code does not pair any more" }).waitFor();
  assert.equal(await asked(other.page.context(), "/api/state"), 401);
  assert.equal(await asked(phone.page.context(), "/api/state"), 200, "who is paired stays so");

  // Another code makes the one before void.
  const pair = async () => {
    const before = await dialog.locator("code.address").textContent();
    await dialog.getByRole("button", { name: "Another code" }).click();
    await here.page.waitForFunction((old) => document.querySelector("code.address").textContent !== old, before);
    return dialog.locator("code.address").textContent();
  };
  const [first, second] = [await pair(), await pair()];
  assert.equal((await other.page.goto(first)).status(), 403);
  assert.equal((await other.page.goto(second)).status(), 200);
  await other.page.waitForSelector(".drop");
  for (const seen of [here, phone, other]) {
    assert.deepEqual(seen.strayed, []);
    await seen.close();
  }
});

test("without --lan the page says how to be shared", async () => {
  const alone = folder();
  const own = await open(["--port", "0"], alone.dir);
  const { page, close } = await visit(browser, own.url);
  await page.getByRole("button", { name: "To a phone" }).click();
  await page.getByText("--lan").waitFor();
  await accessible(page, "not shared");
  await close();
  await own.kill();
  alone.away();
});
