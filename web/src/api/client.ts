// Asking the program: every answer checked for its status, every refusal kept with its words and what to do.

import type { Gets, Posts, Refused } from "./types";

/** A refusal in the program's words. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly remedy: string,
    /** Fields that came beside the words. */
    readonly more: Partial<Omit<Refused, "error">> = {},
  ) {
    super(message);
  }
}

const GONE = "The program does not answer. Is it still running where it was started?";

async function answer(path: string, init: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, { ...init, credentials: "same-origin", headers: { "x-lanthorn": "page", ...init.headers } });
  } catch {
    throw new Refusal(0, "gone", GONE, "Start it again with lanthorn open; nothing that was ticked is lost.");
  }
  if (response.ok) return response;
  const text = await response.text();
  let said: Partial<Refused> = {};
  try {
    said = JSON.parse(text) as Partial<Refused>;
  } catch {
    // Not the program's own words: told by its status alone.
  }
  const { error, ...more } = said;
  throw new Refusal(
    response.status,
    error?.code ?? String(response.status),
    error?.message ?? `The program refused this (status ${response.status}).`,
    error?.remedy ?? "",
    more,
  );
}

/** What is said at a path; `id` stands where the path has its place for one. */
export async function get<P extends keyof Gets>(path: P, id = ""): Promise<Gets[P]> {
  return (await (await answer(path.replace("{id}", encodeURIComponent(id)), { method: "GET" })).json()) as Gets[P];
}

/** Bytes at a path. */
export async function bytes(path: string): Promise<ArrayBuffer> {
  return (await answer(path, { method: "GET" })).arrayBuffer();
}

/** Sends JSON and gives what is said to it. */
export async function send<P extends keyof Posts>(path: P, body: Posts[P]["body"], method: "POST" | "PUT" = "POST"): Promise<Posts[P]["answer"]> {
  const init = { method, headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
  return (await (await answer(path, init)).json()) as Posts[P]["answer"];
}

/** Sends a file as it is. */
export async function upload<T>(path: string, file: Blob): Promise<T> {
  const init = { method: "POST", headers: { "content-type": "application/octet-stream" }, body: file };
  return (await (await answer(path, init)).json()) as T;
}

/** A name for one write, so that it is done once however often it is sent. Pages on a local network have no randomUUID. */
export function request(): string {
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6]! & 0x0f) | 0x40;
  b[8] = (b[8]! & 0x3f) | 0x80;
  const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}
