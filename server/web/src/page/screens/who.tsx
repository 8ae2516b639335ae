// Who is using the phone: every record says so.
import { address, go } from "../route.ts";
import { Act } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { working } from "../office";

export function Who() {
  const app = useApp();
  const people = working(app.office);
  if (people.length === 0) {
    return (
      <Frame title="Who are you?">
        <Empty>{app.office ? "The office has put in no people yet." : "This phone has not heard from the office yet: it needs signal once."}</Empty>
        <Act sort="main" do={() => app.askOffice()}>Ask the office again</Act>
      </Frame>
    );
  }
  return (
    <Frame title="Who are you?" {...(app.who ? { back: "#/me" } : {})}>
      <p>What is recorded from now on says that it was you.</p>
      <div class="acts" role="group" aria-label="People">
        {people.map((p) => (
          <Act key={p.id} on={p.id === app.who?.id} do={async () => {
            await app.choose(p);
            go(address([]));
          }}>{p.name}</Act>
        ))}
      </div>
    </Frame>
  );
}
