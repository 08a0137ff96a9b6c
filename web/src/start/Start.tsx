// The first start: from a shape that somebody has, or the example.

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { get, send, upload } from "../api/client";
import type { StartInfo, StartMesh } from "../api/types";
import { tell } from "../state/store";
import { Sized } from "./Sized";

export function Start() {
  const info = useSignal<StartInfo | null>(null);
  const mesh = useSignal<StartMesh | null>(null);
  const busy = useSignal("");
  const over = useSignal(false);
  useEffect(() => {
    get("/api/start").then((i) => (info.value = i), tell);
  }, []);

  const take = async (file: File | undefined) => {
    if (!file) return;
    busy.value = `${file.name} is being read.`;
    try {
      mesh.value = await upload<StartMesh>(`/api/start/mesh?name=${encodeURIComponent(file.name)}`, file);
    } catch (e) {
      tell(e);
    } finally {
      busy.value = "";
    }
  };
  const example = async () => {
    busy.value = "The example is being laid out.";
    try {
      await send("/api/start/example", {});
    } catch (e) {
      tell(e);
    } finally {
      busy.value = "";
    }
  };
  return (
    <section class="start" aria-labelledby="start-title">
      <h2 id="start-title">A new prop</h2>
      <div aria-live="polite">{busy.value && <p>{busy.value}</p>}</div>
      {mesh.value === null ? (
        <>
          <p>You need its outer shape: a closed solid from a modelling program, as STL, OBJ, PLY, OFF, 3MF or GLB.</p>
          <label
            class={`drop${over.value ? " over" : ""}`}
            onDragOver={(e) => {
              e.preventDefault();
              over.value = true;
            }}
            onDragLeave={() => (over.value = false)}
            onDrop={(e) => {
              e.preventDefault();
              over.value = false;
              void take(e.dataTransfer?.files[0]);
            }}
          >
            <span>Drop the file here, or choose it</span>
            <input type="file" accept=".stl,.obj,.ply,.off,.3mf,.glb" onChange={(e) => void take(e.currentTarget.files?.[0])} />
          </label>
          <p><button type="button" onClick={() => void example()}>Look at the example first</button></p>
          {info.value && <p class="small quiet">Projects are laid into {info.value.folder}.</p>}
        </>
      ) : (
        <Sized mesh={mesh.value} figure_mm={info.value?.figure_mm ?? 1750} again={() => (mesh.value = null)} />
      )}
    </section>
  );
}
