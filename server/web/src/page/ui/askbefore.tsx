// What is cut or lifted is never as it was again, so pictures of it are asked for first.
import type { Picture } from "../../shared/picture.ts";
import { address } from "../route.ts";
import { Way } from "./act.tsx";
import { useAnswer, useApp } from "./app.tsx";

/** Whether a picture before is still wanted: there is none, and no floor was cut. */
export function useBeforeWanted(picture: Picture): boolean {
  const app = useApp();
  const cut = (picture.lists.cuts ?? []).length > 0;
  const any = useAnswer(async () => cut || app.album.any(picture.job), [picture.job, cut, app.held.shots]).value;
  return any === false;
}

export function AskBefore(p: { picture: Picture }) {
  if (!useBeforeWanted(p.picture)) return null;
  return (
    <section class="danger">
      <p>There is no picture yet of how it was before. Once it is cut there will be none.</p>
      <Way to={address(["job", p.picture.job, "do", "photo"])}>Take one now</Way>
    </section>
  );
}
