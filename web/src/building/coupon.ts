// What was filled in of a coupon.

import type { Job } from "../api/types";

/** What was filled in behind a line last: reading, and how it goes. */
export function had(job: Pick<Job, "values">, line: string): [string, string] {
  const last = job.values.findLast((v) => v.kind === "coupon" && v.value.startsWith(`${line},`));
  const [reading = "", how = ""] = last?.value.slice(line.length + 1).split(",") ?? [];
  return [reading, how];
}
