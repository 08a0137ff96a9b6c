// The pack's page in a browser: readable for everyone, on a phone and on a desk, in both themes, and shut off from the net.

import assert from "node:assert/strict";
import { access, readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const root = fileURLToPath(new URL("../..", import.meta.url));
/** The packs named by LANTHORN_PACKS, or those that the gate builds. */
const packs =
  process.env.LANTHORN_PACKS?.split(path.delimiter) ??
  ["reed-glaive", "beacon-staff"].map((example) => path.join(root, "target/demo", example));
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

let browser;

before(async () => {
  browser = await chromium.launch({
    executablePath: process.env.LANTHORN_BROWSER ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu"],
  });
});

after(async () => browser?.close());

for (const pack of packs) {
  describe(path.basename(pack), () => {
    /** Opens the page, and says which requests went anywhere but to the pack, and which failed. */
    async function open(width, colorScheme) {
      const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme });
      const page = await context.newPage();
      const strayed = [];
      const broken = [];
      const home = pathToFileURL(pack + path.sep).href;
      page.on("request", (r) => {
        if (!r.url().startsWith(home) && !r.url().startsWith("data:")) strayed.push(r.url());
      });
      page.on("requestfailed", (r) => broken.push(r.url()));
      page.on("pageerror", (e) => broken.push(String(e)));
      await page.goto(pathToFileURL(path.join(pack, "index.html")).href, { waitUntil: "load" });
      return { page, strayed, broken, close: () => context.close() };
    }

    for (const width of [1440, 390]) {
      for (const scheme of ["light", "dark"]) {
        test(`${width} px, ${scheme}: no accessibility violation, no stray request, no sideways scroll`, async () => {
          const { page, strayed, broken, close } = await open(width, scheme);
          // Pictures further down load only when they come near.
          await page.evaluate(async () => {
            for (const image of document.images) {
              image.loading = "eager";
              await image.decode();
            }
          });
          // Evaluated, not added: the page lets no script in.
          await page.evaluate(axe);
          const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
          const told = violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
          assert.deepEqual(told, []);
          assert.ok(passes.length > 10, "the rules found something to look at");
          assert.deepEqual(strayed, []);
          assert.deepEqual(broken, []);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
          assert.ok(wide <= 0, `${wide} px wider than the window`);
          await close();
        });
      }
    }

    test("it prints on paper: nothing is wider than the page, what only serves a screen is gone", async () => {
      // A4 with margins of 10 mm, at 96 px an inch.
      const { page, close } = await open(718, "dark");
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      const seen = await page.evaluate(() => {
        const right = (e) => e.getBoundingClientRect().right;
        const clipped = [...document.querySelectorAll("main *, header *")].filter(
          (e) => getComputedStyle(e).overflowX !== "visible" && e.scrollWidth > e.clientWidth + 1,
        );
        const wide = [...document.querySelectorAll("main *, header *")].filter((e) => right(e) > document.documentElement.clientWidth + 1);
        return {
          clipped: clipped.map((e) => e.outerHTML.slice(0, 80)),
          wide: wide.map((e) => e.outerHTML.slice(0, 80)),
          nav: getComputedStyle(document.querySelector("nav")).display,
          ground: getComputedStyle(document.body).backgroundColor,
        };
      });
      assert.deepEqual(seen.clipped, []);
      assert.deepEqual(seen.wide, []);
      assert.equal(seen.nav, "none");
      // Ink on paper also for who reads in the dark.
      assert.ok(seen.ground.match(/\d+/g).every((v) => Number(v) > 200), seen.ground);
      const pdf = (await page.pdf({ format: "A4", margin: { top: "10mm", bottom: "10mm", left: "10mm", right: "10mm" } })).toString("latin1");
      assert.ok((pdf.match(/\/Type\s*\/Page\b/g) ?? []).length > 5);
      await close();
    });

    test("the theme follows the reader's", async () => {
      const grounds = [];
      for (const scheme of ["light", "dark"]) {
        const { page, close } = await open(1440, scheme);
        grounds.push(await page.evaluate(() => getComputedStyle(document.body).backgroundColor));
        await close();
      }
      assert.notEqual(grounds[0], grounds[1]);
    });

    test("every link and picture leads to something in the pack", async () => {
      const { page, close } = await open(1440, "light");
      const links = await page.evaluate(() => ({
        hrefs: [...document.querySelectorAll("a[href]")].map((a) => a.getAttribute("href")),
        sources: [...document.querySelectorAll("[src]")].map((e) => e.getAttribute("src")),
        ids: [...document.querySelectorAll("[id]")].map((e) => e.id),
      }));
      assert.ok(links.hrefs.length > 0 && links.sources.length > 0);
      for (const link of [...links.hrefs, ...links.sources]) {
        if (link.startsWith("#")) {
          assert.ok(links.ids.includes(link.slice(1)), `no element for ${link}`);
        } else if (!link.startsWith("data:")) {
          assert.ok(!/^[a-z]+:/i.test(link), `${link} leaves the pack`);
          await access(path.join(pack, decodeURIComponent(link.split("#")[0])));
        }
      }
      await close();
    });

    test("the page shows every piece, every failing or unsure finding, and the drawings", async () => {
      const { page, close } = await open(1440, "light");
      const text = await page.evaluate(() => document.body.textContent);
      const { pieces } = JSON.parse(await readFile(path.join(pack, "pieces/index.json"), "utf8"));
      const { findings } = JSON.parse(await readFile(path.join(pack, "findings.json"), "utf8"));
      const hrefs = await page.evaluate(() => [...document.querySelectorAll("a[href]")].map((a) => a.getAttribute("href")));
      for (const piece of pieces) {
        assert.ok(hrefs.includes(`pieces/${piece.file}`), `no link to ${piece.file}`);
        assert.ok(text.includes(piece.body) && text.includes(piece.printer), piece.name);
      }
      for (const finding of findings.filter((f) => f.verdict === "fails" || f.verdict === "unsure")) {
        assert.ok(text.includes(finding.message), finding.message);
      }
      const html = await readFile(path.join(pack, "index.html"), "utf8");
      for (const drawing of ["drawings/side.svg", "drawings/sections.svg"]) {
        await access(path.join(pack, drawing));
        assert.ok(html.includes(drawing), drawing);
      }
      await close();
    });
  });
}
