// Showing the page on a phone: a code to scan, which pairs one device, once.

import { signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Refusal, send } from "../api/client";
import type { Share as ShareOf } from "../api/types";
import { Dialog } from "../parts/Dialog";

export const shareOpen = signal(false);

export function ShareDialog() {
  return shareOpen.value ? <Share /> : null;
}

function Share() {
  const got = useSignal<ShareOf | null>(null);
  const words = useSignal("");
  const picture = useSignal<string | null>(null);
  const ask = () => {
    send("/api/share", {}).then(
      (s) => {
        got.value = s;
        if (picture.value) URL.revokeObjectURL(picture.value);
        picture.value = URL.createObjectURL(new Blob([s.qr], { type: "image/svg+xml" }));
      },
      (e: unknown) => {
        if (!(e instanceof Refusal)) throw e;
        words.value = `${e.message} ${e.remedy}`;
      },
    );
  };
  useEffect(() => {
    ask();
    return () => {
      if (picture.value) URL.revokeObjectURL(picture.value);
    };
  }, []);
  const s = got.value;
  return (
    <Dialog title="To a phone at the bench" close={() => (shareOpen.value = false)}>
      {words.value && <p>{words.value}</p>}
      {s && picture.value && (
        <>
          <p>Scan this with a phone on the same network. It pairs one device, once, until {new Date(s.ends * 1000).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}.</p>
          <img class="qr" src={picture.value} alt="Code to scan: it holds the address below" width={240} height={240} />
          <p><code class="address">{s.url}</code></p>
          <p class="small quiet">Whoever has the code can change the project. On a network that is not yours, leave it closed.</p>
          <button type="button" onClick={ask}>Another code</button>
        </>
      )}
    </Dialog>
  );
}
