// Numbers as a maker reads them: rounded to what is known, with a thin space before the unit.

const THIN = "\u202f";

/** Metric or inch. */
export type System = "mm" | "in";

/** A number with at most so many decimals, and none that are zero. */
export function plain(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "–";
  const text = value.toFixed(decimals);
  const bare = text.includes(".") ? text.replace(/\.?0+$/, "") : text;
  return (bare === "-0" ? "0" : bare).replace("-", "\u2212");
}

/** Decimals that show a value to about three figures. */
function decimals(value: number): number {
  const size = Math.abs(value);
  if (size >= 100) return 0;
  if (size >= 10) return 1;
  return size >= 1 ? 2 : 3;
}

/** A length in the maker's units: millimetres to a tenth, inches to a hundredth. */
export function length(mm: number, system: System): string {
  return system === "mm" ? `${plain(mm, Math.abs(mm) >= 100 ? 0 : 1)}${THIN}mm` : `${plain(mm / 25.4, 2)}${THIN}in`;
}

const UNITS: Record<string, string> = { mm2: "mm²", mm3: "mm³", deg: "°", "1": "", g: "g", "cd/m2": "cd/m²" };

/** Hours and minutes. */
export function time(seconds: number): string {
  if (!Number.isFinite(seconds)) return "–";
  const minutes = Math.round(seconds / 60);
  if (Math.abs(seconds) < 90) return `${plain(seconds, Math.abs(seconds) < 10 ? 1 : 0)}${THIN}s`;
  if (minutes < 90) return `${minutes}${THIN}min`;
  const rest = minutes % 60;
  return rest === 0 ? `${Math.floor(minutes / 60)}${THIN}h` : `${Math.floor(minutes / 60)}${THIN}h ${rest}${THIN}min`;
}

/** Any measured value with its unit. */
export function value(number: number, unit: string, system: System): string {
  if (unit === "mm") return length(number, system);
  if (unit === "s") return time(number);
  if (unit === "g" && Math.abs(number) >= 1000) return `${plain(number / 1000, 2)}${THIN}kg`;
  const word = UNITS[unit] ?? unit;
  const figure = plain(number, unit === "1" && Number.isInteger(number) ? 0 : decimals(number));
  if (word === "") return figure;
  return word === "°" ? `${figure}°` : `${figure}${THIN}${word}`;
}

/** A band: "48 mm (41 to 57)", or the value alone where it is known exactly. */
export function band(b: { value: number; low: number; high: number; unit: string }, system: System): string {
  const middle = value(b.value, b.unit, system);
  const [low, high] = [value(b.low, b.unit, system), value(b.high, b.unit, system)];
  if (low === middle && high === middle) return middle;
  const unit = /[\u202f°][^\u202f]*$/;
  const bare = low.replace(unit, "");
  // Two times may have different units; both then stand there.
  const same = unit.exec(low)?.[0] === unit.exec(high)?.[0] && !low.includes(" ");
  return `${middle} (${same ? bare : low} to ${same ? high.replace(unit, "") : high})`;
}

/** What somebody typed as a length, in mm; a bare number is in the system shown. `null` when it is none. */
export function parseLength(text: string, system: System): number | null {
  const cleaned = text.trim().toLowerCase().replace(/[\u202f\u00a0]/g, " ").replace(",", ".").replace("\u2212", "-");
  const feet = /^(\d+(?:\.\d+)?)\s*(?:ft|')\s*(?:(\d+(?:\.\d+)?)\s*(?:in|")?)?$/.exec(cleaned);
  if (feet) return (Number(feet[1]) * 12 + Number(feet[2] ?? 0)) * 25.4;
  const broken = /^(?:(\d+)\s+)?(\d+)\/(\d+)\s*(?:in|")?$/.exec(cleaned);
  if (broken && Number(broken[3]) > 0) return (Number(broken[1] ?? 0) + Number(broken[2]) / Number(broken[3])) * 25.4;
  const one = /^(-?\d+(?:\.\d+)?|-?\.\d+)\s*(mm|cm|m|in|")?$/.exec(cleaned);
  if (!one) return null;
  const factor = { mm: 1, cm: 10, m: 1000, in: 25.4, '"': 25.4 }[one[2] ?? system] ?? 1;
  return Number(one[1]) * factor;
}

/** A length as the project file writes it. */
export function written(mm: number, system: System): string {
  return system === "mm" ? `${Number(mm.toFixed(1))} mm` : `${Number((mm / 25.4).toFixed(3))} in`;
}

/** A length written as another one is: in its unit, to a tenth of a millimetre. */
export function like(old: string | null, mm: number): string {
  const unit = /(mm|cm|ft|in|m)\b/.exec(old ?? "")?.[1] ?? "mm";
  if (unit === "in" || unit === "ft") return written(mm, "in");
  const factor = { mm: 1, cm: 10, m: 1000 }[unit] ?? 1;
  return `${Number((mm / factor).toFixed(unit === "mm" ? 1 : unit === "cm" ? 2 : 4))} ${unit}`;
}
