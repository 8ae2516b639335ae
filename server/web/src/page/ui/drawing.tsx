// A drawing in its place. It is our own code's, from our own worker.
import type { ComponentChildren } from "preact";
import "./drawing.css";

export function Drawing(p: { svg: string | undefined; failed?: string | undefined; class?: string; children?: ComponentChildren }) {
  return (
    <div class={`sheet ${p.class ?? ""}`}>
      {p.svg === undefined ? <p class="note waiting">{p.failed ? `It cannot be drawn: ${p.failed}` : "Drawing it."}</p> : <div class="drawn" dangerouslySetInnerHTML={{ __html: p.svg }} />}
      {p.children}
    </div>
  );
}
