// Signing a room or the whole floor. A support is signed where it is looked at.
import { address, go } from "../route.ts";
import { Hold } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor, type Bodies } from "./bodies.ts";
import type { Recording } from "./recording.ts";

export function SignPlace(p: Recording) {
  const app = useApp();
  const { brief, plan } = p.picture;
  const floor = address(["job", p.book.job]);
  const sign = async (body: Bodies["signed"]) => {
    if (await app.record(p.book.job, "signed", bodyFor("signed", body))) go(floor, true);
  };
  return (
    <Frame title="Sign" back={floor} picture={p.picture}>
      <p>{brief.signed} of {brief.supports} {app.words.support}s are signed. One is signed on its own screen, on its last reading.</p>
      {(plan.rooms ?? []).map((r) => <Hold key={r.name} do={() => sign({ room: r.name })}>Sign {r.name}</Hold>)}
      <Hold sort="main" do={() => sign({ floor: true })}>Sign the whole floor</Hold>
    </Frame>
  );
}
