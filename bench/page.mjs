// Times the workbench's page in a browser: `node bench/page.mjs PROJECT [JOINT]`, with LANTHORN_BIN for a program other than the
// one under target/debug. What it prints are milliseconds on this machine, drawn in software where it has no graphics card.

import path from "node:path";
import { browse, open, ready, settled, visit } from "../reference/browser/bench.mjs";

const [project, joint = "J6"] = process.argv.slice(2);
if (!project) throw new Error("name a project: node bench/page.mjs my-axe/prop.toml");

const browser = await browse();
const program = await open([path.resolve(project), "--port", "0"], process.cwd());
const print = (what, ms) => console.log(`${String(Math.round(ms)).padStart(8)} ms  ${what}`);

/** From asking for the page until the prop is drawn. */
async function opened(what) {
  const from = performance.now();
  const visited = await visit(browser, program.url);
  await ready(visited.page);
  print(what, performance.now() - from);
  return visited;
}

try {
  const first = await opened("first page of a program just begun, until the prop is drawn");
  await settled(first.page, 1, 900_000);
  await first.close();
  const second = await opened("another page when everything is worked out");
  const { page } = second;
  console.log(`drawn ${(await page.getAttribute(".stage", "data-software")) === "yes" ? "in software" : "by a graphics card"}`);

  // As it is when somebody looks at it: the page at rest.
  const rest = () => page.waitForTimeout(3000);
  await rest();
  const cut = await page.evaluateHandle((id) => document.querySelector(`.grab[aria-label="Cut ${id}"]`), joint);
  const line = await page.evaluate(async (grab) => {
    const left = () => grab.closest(".handle").style.left;
    const before = left();
    const from = performance.now();
    grab.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", shiftKey: true, bubbles: true }));
    while (left() === before) await new Promise((r) => setTimeout(r));
    await new Promise((r) => requestAnimationFrame(() => setTimeout(r)));
    return performance.now() - from;
  }, cut);
  print("a cut moved by a key, until its line is drawn", line);
  const pieces = await page.evaluate(async (grab) => {
    performance.clearResourceTimings();
    const from = performance.now();
    grab.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
    const meshes = () => performance.getEntriesByType("resource").filter((e) => e.name.includes("/api/mesh/"));
    while (meshes().length < 2) await new Promise((r) => setTimeout(r, 5));
    const there = Math.max(...meshes().map((e) => e.responseEnd)) - from;
    // Drawn in the first frame after they were taken apart, which the second one follows.
    for (let k = 0; k < 2; k += 1) await new Promise(requestAnimationFrame);
    return [there, performance.now() - from];
  }, cut);
  print("until its two pieces are there", pieces[0]);
  print("until they are drawn", pieces[1]);
  const all = performance.now();
  await settled(page, 2, 900_000);
  print("after that until everything is worked out", performance.now() - all);

  await page.click("text=Lit");
  await page.waitForFunction(() => document.querySelector(".swatch") && /Seen in/.test(document.querySelector(".stage").textContent));
  await rest();
  const light = [];
  for (const colour of ["#ff0000", "#00ff00", "#3060ff", "#ffffff"]) {
    light.push(
      await page.evaluate(async (value) => {
        const swatch = document.querySelector(".swatch");
        const from = performance.now();
        swatch.value = value;
        swatch.dispatchEvent(new Event("input", { bubbles: true }));
        await new Promise((r) => requestAnimationFrame(() => setTimeout(r)));
        return performance.now() - from;
      }, colour),
    );
  }
  print("another colour, until its light is drawn (median)", light.sort((a, b) => a - b)[1]);
  await page.click("text=Lit");

  await page.focus(".stage");
  const measured = await page.context().newCDPSession(page);
  await measured.send("Performance.enable");
  // What the page itself works, seconds: a graphics card changes nothing of it.
  const worked = async () => {
    const { metrics } = await measured.send("Performance.getMetrics");
    return metrics.filter((m) => /^(Script|Layout|RecalcStyle)Duration$/.test(m.name)).reduce((sum, m) => sum + m.value, 0);
  };
  const [frames, before] = [20, await worked()];
  const seconds = await page.evaluate(async (frames) => {
    const stage = document.querySelector(".stage");
    const from = performance.now();
    for (let k = 0; k < frames; k += 1) {
      stage.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowUp", bubbles: true }));
      await new Promise(requestAnimationFrame);
    }
    return (performance.now() - from) / 1000;
  }, frames);
  const ownMs = (1000 * ((await worked()) - before)) / frames;
  console.log(`${(frames / seconds).toFixed(1).padStart(8)} frames a second while turning`);
  console.log(`${ownMs.toFixed(1).padStart(8)} ms of each the page's own work, the rest drawing`);
  const strayed = [...first.strayed, ...second.strayed];
  if (strayed.length > 0) throw new Error(`asked elsewhere: ${strayed}`);
} finally {
  await browser.close();
  await program.kill();
}
