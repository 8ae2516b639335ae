// Reading the staff: one place, or a whole bearer without leaving the keypad.
import { useState } from "preact/hooks";
import { toMM, type Length } from "../../shared/length.ts";
import type { Face, Picture } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing } from "../typed.ts";
import { Act, Way, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { say } from "../say.ts";
import { bodyFor } from "./bodies.ts";
import { liveSetup, type Recording } from "./recording.ts";
import "./reading.css";

/** What was typed last on a set-up and a face: its hundreds are kept for the next. */
const lastTyped = new Map<string, Length>();
let lastFace: Face | undefined;

const faces: { value: Face; label: string }[] = [
  { value: "bearer", label: "Under the bearer" }, { value: "floor", label: "Floor" }, { value: "support", label: "Top of support" },
];

const reasons = ["can't get to it", "no line of sight", "too dark", "not safe"] as const;

export function Reading(p: Recording) {
  const app = useApp();
  const { book, picture, query } = p;
  const setup = liveSetup(picture, app.who?.id);
  const floor = address(["job", book.job]);
  if (!setup) {
    return (
      <Frame title="Read" back={floor} picture={picture}>
        <Empty way={{ to: address(["job", book.job, "do", "setup"]), label: "Set up the laser" }}>No laser is set up, or its set-up was closed.</Empty>
      </Frame>
    );
  }
  return <Places {...p} setup={setup.id} along={query.has("all") ? alongOf(picture, query.get("bearer")) : []} />;
}

interface Along {
  bearer: string;
  places: string[];
}

/** The places of a run, and which it is: a bearer, or the spots. */
function alongOf(p: Picture, bearer: string | null): string[] {
  if (bearer === "spots") return (p.spots ?? []).map((s) => s.id);
  return p.plan.bearers?.find((b) => b.id === bearer)?.supports ?? p.supports.map((s) => s.id);
}

function runsOf(p: Picture): Along[] {
  const runs = (p.plan.bearers ?? []).map((b) => ({ bearer: b.id, places: b.supports }));
  return p.spots?.length ? [...runs, { bearer: "spots", places: p.spots.map((s) => s.id) }] : runs;
}

function Places(p: Recording & { setup: string; along: string[] }) {
  const app = useApp();
  const { book, picture, query, along } = p;
  const asked = query.get("support") ?? query.get("spot");
  const [at, setAt] = useState(asked ?? along[0] ?? picture.supports[0]?.id ?? "");
  const [done, setDone] = useState<Record<string, string>>({});
  const isSpot = picture.spots?.some((s) => s.id === at) ?? false;
  const [face, setFace] = useState<Face>(isSpot ? "floor" : lastFace ?? (picture.supports.length > 0 ? "bearer" : "floor"));
  const [surface, setSurface] = useState("");
  const key = `${p.setup} ${face}`;
  const [typed, setTyped] = useState(() => nothing(app.unit, lastTyped.get(key)));
  const [calling, setCalling] = useState(query.has("call"));
  const [why, askWhy] = useState(false);

  const onward = (saved: string) => {
    const seen = { ...done, [at]: saved };
    setDone(seen);
    askWhy(false);
    const next = along.slice(along.indexOf(at) + 1).concat(along).find((id) => !(id in seen));
    if (next) setAt(next);
    else go(asked && along.length === 0 ? address(["job", book.job, "support", asked]) : address(["job", book.job]), true);
  };
  const save = async (staff: Length) => {
    const body = bodyFor("reading", { setup: p.setup, point: at, face, staff, surface: face === "floor" ? surface : "" });
    if (!(await app.record(book.job, "reading", body))) return;
    lastTyped.set(key, staff);
    lastFace = face;
    setTyped(nothing(staff.unit, staff));
    onward(`${staff.value} ${staff.unit}`);
  };
  const skip = async (not_read: string) => {
    if (await app.record(book.job, "reading", bodyFor("reading", { setup: p.setup, point: at, face, not_read }))) onward(not_read);
  };
  const staff = lengthOf(typed);
  const pick = (f: Face) => {
    setFace(f);
    setTyped(nothing(typed.unit, lastTyped.get(`${p.setup} ${f}`)));
  };
  return (
    <Frame title={along.length > 0 ? `Read: ${Object.keys(done).length} of ${along.length}` : `Read ${at}`} back={address(asked && along.length === 0 ? ["job", book.job, "support", asked] : ["job", book.job])} picture={picture}>
      {along.length > 0 ? <Run places={along} at={at} done={done} choose={setAt} /> : null}
      {calling ? <p class="calling" aria-live="polite">{at}<Heard of={done} along={along} /></p> : <Words small label={say("The staff stands on")} of={faces.map((f) => ({ ...f, label: say(f.label) }))} chosen={[face]} choose={pick} />}
      {face === "floor" && !calling ? <Covering of={picture} at={at} chosen={surface} choose={setSurface} /> : null}
      <Entry of={typed} name={calling ? "" : at} label={`${app.words.staff} on ${at}`} />
      <Keypad of={typed} typed={setTyped} sign done={() => staff && save(staff)}>
        <Act sort="main" disabled={!staff || Math.abs(toMM(staff)) > 10_000} do={() => save(staff!)}>Save {at}</Act>
      </Keypad>
      <div class="acts">
        <Act sort="quiet" on={why} do={() => askWhy(!why)}>Not read</Act>
        {along.length > 0 ? <Act sort="quiet" on={calling} do={() => setCalling(!calling)}>Call out</Act> : null}
        {along.length > 0 ? <Bearers of={picture} job={book.job} /> : null}
      </div>
      {why ? <div class="words" role="group" aria-label="Not read because">{reasons.map((r) => <Act key={r} do={() => skip(r)}>{r}</Act>)}</div> : null}
    </Frame>
  );
}

/** What was entered last, to be read back to whoever calls out. */
function Heard(p: { of: Record<string, string>; along: string[] }) {
  const last = Object.entries(p.of).at(-1);
  return <span class="heard">{last ? `${last[0]}: ${last[1]}` : `${p.along.length} to read`}</span>;
}

/** The places of the run; a touch goes there. */
function Run(p: { places: string[]; at: string; done: Record<string, string>; choose: (id: string) => void }) {
  return (
    <div class="run" role="group" aria-label="Places">
      {p.places.map((id) => (
        <button key={id} type="button" class={`act quiet ${id in p.done ? "read" : ""}`} aria-current={id === p.at ? "step" : undefined} aria-label={`${id}${id in p.done ? `, ${p.done[id]}` : ""}`} onClick={() => p.choose(id)}>
          {id}
          <small>{p.done[id] ?? ""}</small>
        </button>
      ))}
    </div>
  );
}

function Bearers(p: { of: Picture; job: string }) {
  const app = useApp();
  const runs = runsOf(p.of);
  if (runs.length < 2) return null;
  const now = app.route.query.get("bearer");
  const next = runs[(runs.findIndex((r) => r.bearer === now) + 1) % runs.length]!.bearer;
  return <Way sort="quiet" to={address(["job", p.job, "do", "reading"], { bearer: next, all: "1" })}>{next === "spots" ? "The spots" : `${app.words.bearer} ${next}`} →</Way>;
}

const coverings = ["boards", "carpet", "tiles", "vinyl", "bare sheet"] as const;

/** Another covering starts its own heights, so it is asked on the floor. */
function Covering(p: { of: Picture; at: string; chosen: string; choose: (s: string) => void }) {
  const known = [...p.of.supports, ...(p.of.spots ?? [])].find((s) => s.id === p.at)?.faces?.find((f) => f.face === "floor")?.surface;
  return <Words small label="What lies on the floor" of={coverings.map((c) => ({ value: c, label: c === known ? `${c}, as before` : c }))} chosen={coverings.filter((c) => c === p.chosen)} choose={(c) => p.choose(c === p.chosen ? "" : c)} />;
}
