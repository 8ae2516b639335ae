// The jobs of the firm.
import { address } from "../route.ts";
import { useApp } from "../ui/app.tsx";
import { Act, Way } from "../ui/act.tsx";
import { Empty, Frame } from "../ui/frame.tsx";

export function Jobs() {
  const app = useApp();
  const jobs = app.office?.jobs ?? [];
  return (
    <Frame title={app.office?.firm.name ?? "Jobs"}>
      {jobs.length === 0 ? <Empty>{app.office ? "There are no jobs yet. The office opens one." : "This phone has not heard from the office yet."}</Empty> : (
        <ul class="rows">
          {jobs.map((j) => (
            <li key={j.id}>
              <a href={address(["job", j.id])}>
                <b>{j.name}</b>
                {j.place ? <small>{j.place}</small> : null}
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
