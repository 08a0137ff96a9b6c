// A box above the page, which takes the keyboard until it is closed.

import { useId, useLayoutEffect, useRef } from "preact/hooks";

export function Dialog({ title, close, children }: { title: string; close: () => void; children: preact.ComponentChildren }) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  useLayoutEffect(() => {
    const before = document.activeElement as HTMLElement | null;
    const shown = box.current;
    shown?.showModal();
    return () => {
      // What is under an open box takes no keyboard.
      shown?.close();
      before?.focus?.();
    };
  }, []);
  return (
    <dialog
      ref={box}
      aria-labelledby={id}
      onCancel={(e) => {
        // The box's own closing would be told late, and would then close one that was opened meanwhile.
        e.preventDefault();
        close();
      }}
    >
      <div class="row dialog-head">
        <h2 id={id} class="grow">{title}</h2>
        <button type="button" onClick={close}>Close</button>
      </div>
      {children}
    </dialog>
  );
}
