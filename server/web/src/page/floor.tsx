import type { Picture } from "../shared/picture.ts";
import { Drawing } from "./ui/drawing.tsx";

export function Floor(p: { svg: string | undefined; picture: Picture; base: string; turn: number; onTurn: (turn: number) => void }) {
  return <Drawing svg={p.svg} class="floor" />;
}
