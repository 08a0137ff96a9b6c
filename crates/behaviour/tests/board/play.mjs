// Runs play.py under the interpreter that is built for browsers: `play.mjs PACKAGE PLAY FOLDER RECORDING`. Its small integers have
// 31 bits, and it compiles nothing.
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const [module, play, folder, recording] = process.argv.slice(2);
const { loadMicroPython } = await import(pathToFileURL(module));
const lines = [];
const mp = await loadMicroPython({ heapsize: 16 * 1024 * 1024, linebuffer: true, stdout: (line) => lines.push(line) });
for (const path of ["/board", "/board/sounds"]) {
  mp.FS.mkdir(path);
}
for (const path of readdirSync(folder, { recursive: true })) {
  if (/\.(py|wav)$/.test(path)) {
    mp.FS.writeFile(join("/board", path), readFileSync(join(folder, path)));
  }
}
mp.FS.writeFile("/recording.csv", readFileSync(recording));
mp.runPython('import sys\nsys.argv[:] = ["play.py", "/board", "/recording.csv"]');
mp.runPython(readFileSync(play, "utf8"));
process.stdout.write(lines.map((line) => line.replace(/\n$/, "") + "\n").join(""));
