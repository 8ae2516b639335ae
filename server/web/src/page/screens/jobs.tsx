// The jobs of the firm, each with what this phone knows of it: a small plan and how far
// it is.
import type { Picture } from "../../shared/picture.ts";
import { address } from "../route.ts";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Act, Way } from "../ui/act.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { SmallPlan } from "../ui/smallplan.tsx";
import { farthest } from "./job.tsx";

export function Jobs() {
  const app = useApp();
  const jobs = app.office?.jobs ?? [];
  const { value: pictures } = useAnswer(async () => new Map(await Promise.all(jobs.map(async (j) => [j.id, await app.store.read<Picture>(`picture ${j.id}`)] as const))), [jobs]);
  return (
    <Frame title={app.office?.firm.name ?? "Jobs"}>
      {jobs.length === 0 ? <Empty>{app.office ? "There are no jobs yet. The office opens one." : "This phone has not heard from the office yet."}</Empty> : (
        <ul class="rows">
          {jobs.map((j) => (
            <li key={j.id}>
              <a href={address(["job", j.id])}>
                <b>{j.name}</b>
                {j.place ? <small>{j.place}</small> : null}
                <Known of={pictures?.get(j.id)} />
              </a>
            </li>
          ))}
        </ul>
      )}
      <div class="acts">
        <Act sort="quiet" do={() => app.askOffice()}>Ask the office again</Act>
        <Way sort="quiet" to={address(["me"])}>{app.who?.name ?? "Who?"}: this phone</Way>
      </div>
      {app.update.waiting ? <p class="note">A new version is on this phone. It takes over when nothing is open and nothing is being sent.</p> : null}
    </Frame>
  );
}

/** Of a job that was open here once. */
function Known(p: { of: Picture | undefined }) {
  const { unit } = useApp();
  if (!p.of?.supports.length) return null;
  return (
    <>
      <small>{farthest(p.of, unit)}</small>
      <span class="fig"><SmallPlan of={p.of} wide={96} high={64} /></span>
    </>
  );
}
