// A photo or a scanned sketch under the plan: put to scale by two points of which
// somebody knows how far apart they are.
import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Editor } from "./editor.ts";
import { distance } from "./geometry.ts";
import { fitOf, scaled, toMetres } from "./lay.ts";
import { parseLength } from "./measure.ts";
import type { Plan, Underlay as Laid } from "./plan.ts";
import { toSheet } from "./view.ts";
import type { Wire } from "./wire.ts";

const longest = 1600; // px: what is uploaded is what is shown, so its px are those of the plan

export function Underlay({ e, plan }: { e: Editor; plan: Plan }): JSX.Element | null {
  const u = plan.underlay;
  const [size, setSize] = useState<{ of: string; wide: number; high: number } | undefined>();
  const href = u ? `/api/v1/photos/${u.sha256}?size=1600` : "";
  useEffect(() => {
    if (!u) return;
    const img = new Image();
    img.onload = () => setSize({ of: u.sha256, wide: img.naturalWidth, high: img.naturalHeight });
    img.src = href;
  }, [href]);
  if (!u || size?.of !== u.sha256) return null;
  const f = fitOf(u);
  const [o, r, d] = [toMetres(f, [0, 0]), toMetres(f, [1, 0]), toMetres(f, [0, 1])].map((p) => toSheet(e.view, p));
  const matrix = `matrix(${r!.x - o!.x} ${r!.y - o!.y} ${d!.x - o!.x} ${d!.y - o!.y} ${o!.x} ${o!.y})`;
  return <image class="underlay" href={href} width={size.wide} height={size.high} transform={matrix} opacity={e.dim} preserveAspectRatio="none" />;
}

/** What can be done with the picture. */
export function UnderlayForm({ e, wire }: { e: Editor; wire: Wire }): JSX.Element {
  const [why, setWhy] = useState("");
  const u = e.plan.underlay;
  const choose = async (file: File | undefined): Promise<void> => {
    if (!file) return;
    setWhy("Sending the picture…");
    setWhy(await layDown(e, wire, file));
  };
  return (
    <>
      <label class="file">{u ? "Another picture" : "A photo or a sketch under it"}<input type="file" accept="image/jpeg,image/png,image/webp" onChange={(ev) => void choose(ev.currentTarget.files?.[0])} /></label>
      {why && <p class="note" role="status">{why}</p>}
      {u && (
        <div class="plan-row">
          <button type="button" aria-pressed={e.tool === "scale"} onClick={() => e.take("scale")}>Put it to scale</button>
          <label>Strength <select value={String(e.dim)} onChange={(ev) => e.set({ dim: Number(ev.currentTarget.value) })}>{[["0.15", "faint"], ["0.3", "light"], ["0.5", "half"], ["1", "full"], ["0", "hidden"]].map(([v, says]) => <option key={v} value={v!}>{says}</option>)}</select></label>
          <button type="button" onClick={() => { const { underlay: _, ...rest } = e.plan; e.do(rest, "Took the picture away"); }}>Take it away</button>
        </div>
      )}
      {u && e.tool === "scale" && <ScaleForm e={e} u={u} />}
    </>
  );
}

/** Keeps a picture and lays it down as wide as what is drawn. */
async function layDown(e: Editor, wire: Wire, file: File): Promise<string> {
  if (!crypto.subtle) return "A picture can be sent over https alone: open this page there.";
  const small = await smaller(file);
  if (!small) return "That is no JPEG, PNG or WebP picture that this browser can read: choose another.";
  const kept = await wire.picture(small.bytes);
  if ("why" in kept) return kept.why;
  const wide = 12; // metres: about a house, until it is put to scale
  const high = (wide * small.high) / small.wide;
  e.do({ ...e.plan, underlay: { sha256: kept.sha256, pixels: [[0, small.high], [small.wide, small.high]], metres: [[0, 0], [wide, 0]] } }, "Laid a picture under the plan");
  if (!e.plan.supports?.length) e.set({ view: { turn: e.view.turn, scale: Math.min(e.window.wide / (wide + 2), e.window.high / (high + 2)), x: 40, y: e.window.high - 40 } });
  e.take("scale");
  return "";
}

/** As large as it is shown, the right way up, without where and when it was taken. */
async function smaller(file: File): Promise<{ bytes: Blob; wide: number; high: number } | undefined> {
  try {
    const all = await createImageBitmap(file, { imageOrientation: "from-image" });
    const by = Math.min(1, longest / Math.max(all.width, all.height));
    const [wide, high] = [Math.round(all.width * by), Math.round(all.height * by)];
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [wide, high];
    canvas.getContext("2d")!.drawImage(all, 0, 0, wide, high);
    const bytes = await new Promise<Blob | null>((then) => canvas.toBlob(then, "image/jpeg", 0.85));
    return bytes ? { bytes, wide, high } : undefined;
  } catch {
    return undefined;
  }
}

/** The two points, by touch or by typing, and how far apart they are. */
function ScaleForm({ e, u }: { e: Editor; u: Laid }): JSX.Element {
  const put = (ev: Event): void => {
    ev.preventDefault();
    const data = new FormData(ev.currentTarget as HTMLFormElement);
    const metres = parseLength(String(data.get("far")), e.feet);
    const [from, to] = e.stroke;
    if (!metres || metres <= 0) return e.set({ refused: { field: "scale", cure: "how far apart the two points are: 9.6" } });
    if (!from || !to || distance(from, to) < 0.01) return e.set({ refused: { field: "scale", cure: "touch two points of the picture first, or press “Use its width”" } });
    e.do({ ...e.plan, underlay: scaled(u, from, to, metres, data.get("way") as "level") }, "Put the picture to scale");
    e.take("choose");
  };
  const width = (): void => e.set({ stroke: [toMetres(fitOf(u), u.pixels[0]), toMetres(fitOf(u), u.pixels[1])] });
  return (
    <form class="plan-row" onSubmit={put} noValidate>
      <label>The two points are apart <input name="far" class="figures" autocomplete="off" /></label>
      <label>The line is <select name="way"><option>as it lies</option><option>level</option><option>upright</option></select></label>
      <button type="button" onClick={width}>{`Use ${u.pixels[0][0] === 0 ? "its width" : "the two of before"}`}</button>
      <button>Put to scale</button>
      {e.refused?.field === "scale" && <p class="wrong" role="alert">{e.refused.cure}</p>}
    </form>
  );
}
