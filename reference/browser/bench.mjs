// A workbench to try: a small drawn project in a folder of its own, the real program on it, pages in a browser.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { appendFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

export const root = fileURLToPath(new URL("../..", import.meta.url));
const program = process.env.LANTHORN_BIN ?? path.join(root, "target/debug/lanthorn");
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

const LEAF = `<svg xmlns="http://www.w3.org/2000/svg" width="360mm" height="40mm" viewBox="0 0 360 40">
<path id="grip" d="M0 12 H120 V28 H0 Z"/><path id="blade" d="M120 10 C200 -6 300 6 360 20 C300 34 200 46 120 30 Z"/></svg>`;

/** What the drawn project is asked besides: to do something, and to be planned. Its light takes minutes and is left out. */
const BESIDES = `
[behaviour]
board = "two-core-133"
current = "0.8 A"
on.long-press = { to = "asleep" }

[mode.asleep]
on.short-press = { to = "lit" }

[mode.lit]
light = { moves = "breathe", colour = "#40c0a0", round = "3 s", low = "60 %" }
hum = { sound = "drone", loud = "30 %", swell = "25 %" }
on.swing = { to = "roused" }

[mode.roused]
light = { moves = "flicker", colour = "#90ffe0", low = "75 %" }
on.swing-end = { to = "lit" }

[sound.drone]
makes = "hum"

[plan]
start = "2026-03-02"
event = "2026-03-28"
people = 2
`;

/** A folder that goes away with the tests. */
export function folder() {
  const dir = mkdtempSync(path.join(tmpdir(), "workbench-"));
  return { dir, away: () => rmSync(dir, { recursive: true, force: true }) };
}

/** The leaf, drawn: two bodies, a few pieces. Gives its project file. */
export function drawn(dir) {
  writeFileSync(path.join(dir, "side.svg"), LEAF);
  const words = ["--side", "side.svg", "--thick", "18 mm", "--length", "60 cm", "--section", "grip=oval", "--section", "lens"];
  execFileSync(program, ["new", "leaf", ...words], { cwd: dir });
  const file = path.join(dir, "leaf/prop.toml");
  const text = readFileSync(file, "utf8");
  const dark = text.replace("# follow = false", "follow = false");
  assert.notEqual(dark, text);
  writeFileSync(file, dark);
  appendFileSync(file, BESIDES);
  return file;
}

const LAMP = `<svg xmlns="http://www.w3.org/2000/svg" width="260mm" height="60mm" viewBox="0 0 260 60">
<path id="grip" d="M0 8 H150 V52 H0 Z"/><path id="blade" d="M150 8 L260 16 V44 L150 52 Z"/></svg>`;

/** A lamp, drawn: a short lit body on a grip with a cell behind a lid; few pixels and coarse light, so that it is there soon. */
export function lamp(dir) {
  writeFileSync(path.join(dir, "lamp.svg"), LAMP);
  const words = ["--side", "lamp.svg", "--thick", "40 mm", "--length", "26 cm", "--section", "oval"];
  execFileSync(program, ["new", "lamp", ...words], { cwd: dir });
  const file = path.join(dir, "lamp/prop.toml");
  const said = [
    ['strip = "strip-60"', 'strip = "strip-30"'],
    ["rows = 2 ", "rows = 1 "],
    ['# noise = "2 %"', 'noise = "12 %" #'],
    ['least-length = "150 mm"', 'from = "135 mm"\nleast-length = "60 mm"'],
  ];
  const text = said.reduce((all, [old, now]) => {
    assert.ok(all.includes(old), old);
    return all.replace(old, now);
  }, readFileSync(file, "utf8"));
  writeFileSync(file, `${text}\n[part.cell]\nkind = "cell-18650"\nin = "grip"\n`);
  return file;
}

/** The program, open. `kill` ends it at once, as a lost machine would. */
export async function open(words, cwd) {
  const child = spawn(program, ["open", ...words, "--no-browser"], { cwd, stdio: ["ignore", "pipe", "inherit"] });
  const ended = new Promise((resolve) => child.once("exit", resolve));
  const url = await new Promise((resolve, reject) => {
    let said = "";
    child.stdout.on("data", (bytes) => {
      said += bytes;
      const found = /is open at (\S+)/.exec(said);
      if (found) resolve(found[1]);
    });
    ended.then((code) => reject(new Error(`the program ended with ${code}: ${said}`)));
  });
  return {
    url,
    port: new URL(url).port,
    kill: () => {
      child.kill("SIGKILL");
      return ended;
    },
  };
}

export function browse(more = []) {
  return chromium.launch({
    executablePath: process.env.LANTHORN_BROWSER ?? "/usr/bin/chromium",
    // WebGL in software where there is no graphics card; without this word it would be left out there.
    args: ["--no-sandbox", "--enable-unsafe-swiftshader", ...more],
  });
}

/** A page of the workbench, and what went wrong on it or went elsewhere. */
export async function visit(browser, url, { width = 1440, height = 900, colorScheme = "light", reducedMotion = "reduce" } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, colorScheme, reducedMotion });
  const page = await context.newPage();
  const strayed = [];
  const broken = [];
  page.on("request", (r) => {
    if (!r.url().startsWith(new URL(url).origin) && !/^(data|blob):/.test(r.url())) strayed.push(r.url());
  });
  page.on("pageerror", (e) => broken.push(String(e)));
  page.on("console", (m) => {
    if (/content security policy/i.test(m.text())) broken.push(m.text());
  });
  page.setDefaultTimeout(60_000);
  await page.goto(url);
  return { page, strayed, broken, close: () => context.close() };
}

/** Waits until the prop is on show, drawn in 3D or flat. */
export function ready(page) {
  return page.waitForSelector("[data-ready=drawn], [data-ready=flat]");
}

/** Waits until everything is worked out, of the build given or a later one. */
export async function settled(page, build = 1, timeout = 240_000) {
  await page.waitForFunction(
    (least) => {
      const work = document.querySelector(".work");
      return work?.dataset.working === "no" && Number(work.dataset.build) >= least && /all worked out/.test(work.textContent);
    },
    build,
    { timeout },
  );
}

/** Nothing that somebody cannot see, read or reach; no wider than its window. */
export async function accessible(page, state) {
  // Evaluated, not added: the page lets no script in.
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
  const told = violations.map((v) => `${state}: ${v.id}: ${v.help}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
  assert.deepEqual(told, []);
  assert.ok(passes.length > 10, "the rules found something to look at");
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `${state}: ${wide} px wider than the window`);
}

/** Asks the program as the page does. */
export async function ask(url, route, body) {
  const init = body === undefined ? {} : {
    method: "POST", body: JSON.stringify(body), headers: { "content-type": "application/json", "x-lanthorn": "page" },
  };
  const answer = await fetch(new URL(route, url), init);
  return { status: answer.status, said: await answer.json() };
}
