// A box above the page, which takes the keyboard until it is closed.

import { useEffect, useId, useRef } from "preact/hooks";

export function Dialog({ title, close, children }: { title: string; close: () => void; children: preact.ComponentChildren }) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const before = document.activeElement as HTMLElement | null;
    box.current?.showModal();
    return () => before?.focus?.();
  }, []);
  return (
    <dialog ref={box} aria-labelledby={id} onClose={close}>
      <div class="row dialog-head">
        <h2 id={id} class="grow">{title}</h2>
        <button type="button" onClick={() => box.current?.close()}>Close</button>
      </div>
      {children}
    </dialog>
  );
}
