// What belongs to this device and not to the project: units shown, theme, whose hands.

import { effect, signal } from "@preact/signals";
import type { System } from "../text/units";

export type Theme = "system" | "light" | "dark";

function kept(key: string): string | null {
  try {
    return localStorage.getItem(`lanthorn.${key}`);
  } catch {
    return null; // A browser that keeps nothing still shows everything.
  }
}

function keep(key: string, value: string | null): void {
  try {
    if (value === null) localStorage.removeItem(`lanthorn.${key}`);
    else localStorage.setItem(`lanthorn.${key}`, value);
  } catch {
    // As above.
  }
}

/** Units chosen on this device; `null`: as the project says. */
export const chosenUnits = signal<System | null>(((k) => (k === "mm" || k === "in" ? k : null))(kept("units")));
export const theme = signal<Theme>(((k) => (k === "light" || k === "dark" ? k : "system"))(kept("theme")));
/** Who ticks on this device. */
export const myName = signal(kept("name") ?? "");

const darkRoom = matchMedia("(prefers-color-scheme: dark)");
const systemDark = signal(darkRoom.matches);
darkRoom.addEventListener("change", (e) => (systemDark.value = e.matches));

/** Whether the page is dark now. */
export const dark = signal(false);

effect(() => keep("units", chosenUnits.value));
effect(() => keep("name", myName.value || null));
effect(() => {
  keep("theme", theme.value === "system" ? null : theme.value);
  dark.value = theme.value === "dark" || (theme.value === "system" && systemDark.value);
  document.documentElement.dataset["theme"] = dark.value ? "dark" : "light";
});
