// What is found below that no plan knows, in three touches.
import { useState } from "preact/hooks";
import { toMM } from "../../shared/length.ts";
import type { Picture, Support } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { Ground } from "../ui/ground.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { foundBeside, shownAt, spacing, type What } from "./beside.ts";
import { bodyFor, type Bodies } from "./bodies.ts";
import type { Place } from "./ground.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";

export function Found(p: Recording) {
  const app = useApp();
  const [at, setAt] = useState<Support | undefined>(supportOf(p) ?? p.picture.supports[0]);
  const [what, setWhat] = useState<What>();
  const whats: { value: What; label: string }[] = [
    { value: "next", label: `Next along this ${app.words.bearer}` }, { value: "here", label: "One here" },
    { value: "none", label: "None here" }, { value: "end", label: "Ends or joins here" },
    { value: "spot", label: "A spot to read" },
  ];
  const [shown, show] = useState<Place>();
  const [typed, setTyped] = useState<Typed>();
  const exactly = typed && lengthOf(typed);
  const beside = what && foundBeside(p.picture, at, what, exactly && toMM(exactly) / 1000);
  const anywhere = what === "here" || what === "spot"; // where along no bearer tells it
  const found = beside && (anywhere && shown ? shownAt(beside, shown) : beside);
  const save = async (f: Bodies["found"]) => {
    if (await app.record(p.book.job, "found", bodyFor("found", f))) go(f.what === "support" ? address(["job", p.book.job, "support", f.id]) : comeBack(p), true);
  };
  return (
    <Frame title="Found below" back={comeBack(p)} picture={p.picture}>
      <Words label="What" of={at ? whats : whats.filter((w) => w.value === "here")} chosen={what ? [what] : []} choose={setWhat} />
      {found ? <Act sort="main" do={() => save(found)}>{sentence(app.words.support, found, at)}</Act> : null}
      {at && what === "next" ? <Distance from={at.id} usual={spacing(p.picture, at)} typed={typed} type={setTyped} done={() => found && save(found)} /> : null}
      {at && found && anywhere ? <Where key={what} of={p.picture} at={[found.x!, found.y!]} name={found.id} show={show} /> : null}
      {at ? (
        <>
          <h2>Beside which one</h2>
          <Words small label="Beside which one" of={p.picture.supports.map((s) => ({ value: s.id, label: s.id }))} chosen={[at.id]} choose={(id) => setAt(p.picture.supports.find((s) => s.id === id))} />
        </>
      ) : null}
    </Frame>
  );
}

/** Beside the one it was found from, until somebody shows where. */
function Where(p: { of: Picture; at: Place; name: string; show: (at: Place) => void }) {
  const [open, setOpen] = useState(false);
  if (!open) return <Act sort="quiet" do={() => setOpen(true)}>Show where on the plan</Act>;
  return <Ground picture={p.of} room="" mark={p.at} touched={p.show} label={`The plan: touch where ${p.name} is; arrows move the mark, Enter sets it`} />;
}

/** How far along it stands: by the spacing, until somebody measures. */
function Distance(p: { from: string; usual: number; typed: Typed | undefined; type: (t: Typed) => void; done: () => unknown }) {
  if (!p.typed) return <Act sort="quiet" do={() => p.type(nothing("m"))}>{p.usual} m from {p.from}. It was measured</Act>;
  return (
    <>
      <Entry of={p.typed} name={`from ${p.from}`} label={`From ${p.from}`} />
      <Keypad of={p.typed} typed={p.type} done={p.done} />
    </>
  );
}

function sentence(word: string, b: Bodies["found"], at: Support | undefined): string {
  if (b.what === "none-here") return `No ${word} stands at ${b.id}`;
  if (b.what === "bearer-end") return `It ends or joins at ${at?.id}`;
  if (b.what === "spot") return `Read a spot ${b.id} here`;
  return `Add ${b.id}${b.after ? ` after ${b.after}` : ""}`;
}
