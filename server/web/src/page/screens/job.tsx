// The floor: where every post stands, and what is next.
import { useState } from "preact/hooks";
import { drawFloor } from "../drawings.ts";
import { Floor } from "../floor.tsx";
import type { Recording } from "../record/recording.ts";
import { liveSetup } from "../record/recording.ts";
import { address } from "../route.ts";
import { say } from "../say.ts";
import type { ID } from "../../shared/event.ts";
import { signed, type Shown } from "../../shared/length.ts";
import type { Picture } from "../../shared/picture.ts";
import { seenName, type Seen } from "../../shared/witness.ts";
import { Way } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { useBeforeWanted } from "../ui/askbefore.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { turnOf } from "../ui/ground.tsx";

export function JobScreen(p: Recording) {
  const app = useApp();
  const [turn, setTurn] = useState(() => turnOf(p.book.job));
  const drawn = useAnswer(() => drawFloor(app, p.book, turn), [p.book.version, turn]);
  const base = address(["job", p.book.job]);
  const empty = p.picture.supports.length === 0;
  return (
    <Frame title={app.job(p.book.job)?.name ?? "Job"} back="#/" picture={p.picture}>
      <Disagrees job={p.book.job} />
      <Where of={p.picture} old={p.book.old} />
      {empty ? <Empty>No plan has reached this phone. The office draws it, or the next {app.words.support} you find is added from below.</Empty> : (
        <Floor svg={drawn.value?.svg} picture={p.picture} base={base} onTurn={(t) => {
          localStorage.setItem(`turn ${p.book.job}`, String(t));
          setTurn(t);
        }} turn={turn} />
      )}
      <Proposals of={p.picture} base={base} />
      <Next of={p} base={base} />
    </Frame>
  );
}

/** What the office signed before is not in what it shows now. */
function Disagrees(p: { job: ID }) {
  const app = useApp();
  const { value } = useAnswer(() => app.store.read<Seen>(seenName(p.job)), [p.job, app.standing]);
  if (!value?.wrong) return null;
  return (
    <section class="danger" role="alert">
      <p><b>The record does not agree with what was signed.</b> This phone holds a checkpoint of {value.size} records. {value.wrong}</p>
      <p>Go on recording: nothing on this phone is lost. {value.told ? "It is noted in the book." : ""} Ring the office.</p>
    </section>
  );
}

/** One line: how far it is, and what is left. */
function Where(p: { of: Picture; old: boolean }) {
  const { unit } = useApp();
  return <p class="where">{farthest(p.of, unit)}{p.old ? <span class="note"> · reckoning anew</span> : null}</p>;
}

/** How far a job is, in a line. */
export function farthest({ brief, rounds }: Picture, unit: Shown): string {
  const most = brief.greatest_to_go_mm;
  return [
    most === undefined ? `Stage: ${say(brief.stage)}` : `${signed(most, unit)} the most to go`,
    `${brief.signed} of ${brief.supports} signed`,
    rounds && rounds.left > 0 ? `${rounds.left} round${rounds.left === 1 ? "" : "s"} left` : "",
  ].filter(Boolean).join(" · ");
}

/** The posts of a move, or how many they are. */
function names(moves: { support: string }[]): string {
  return moves.length > 3 ? `${moves.length} together` : moves.map((m) => m.support).join(", ");
}

/** What speaks for a stop: somebody looks into it, or stops. */
function Proposals(p: { of: Picture; base: string }) {
  return (
    <>
      {(p.of.proposals ?? []).map((x) => (
        <section key={x.id} class="danger" role="alert">
          <p>{x.why}</p>
          <div class="acts">
            <Way sort="stop" to={`${p.base}/do/stop?${new URLSearchParams([["why", x.why], ...(x.supports ?? []).map((s) => ["support", s])])}`}>Stop</Way>
            <Way sort="quiet" to={`${p.base}/do/note?${new URLSearchParams({ answers: x.id })}`}>Looked into it</Way>
          </div>
        </section>
      ))}
    </>
  );
}

/** The steps that are usual now, the likeliest first. */
function Next(p: { of: Recording; base: string }) {
  const app = useApp();
  const { picture } = p.of;
  const setup = liveSetup(picture, app.who?.id);
  const moves = picture.rounds?.moves ?? [];
  const bearer = picture.plan.bearers?.[0]?.id;
  const beforeWanted = useBeforeWanted(picture);
  return (
    <nav class="acts" aria-label="What to do">
      {!picture.checked_today ? <Way to={`${p.base}/do/safety-check`} sort="main">Check safety first</Way> : null}
      {!setup ? <Way to={`${p.base}/do/setup`} sort={picture.checked_today ? "main" : undefined}>Set up the laser</Way> : null}
      {setup && moves.length > 0 ? <Way to={`${p.base}/move`} sort="main">Next move: {names(moves.filter((m) => m.batch === moves[0]!.batch))}</Way> : null}
      {setup ? <Way to={address(["job", p.of.book.job, "do", "reading"], { bearer, all: "1" })}>Read along a {app.words.bearer}</Way> : null}
      <Way to={`${p.base}/do/photo`}>{beforeWanted ? "Photo, before the first cut" : "Photo"}</Way>
      <Way to={`${p.base}/do/stop`} sort="stop">Stop</Way>
      <Way to={`${p.base}/more`}>Everything else</Way>
      <Way to={`${p.base}/do/day-end`} sort="quiet">End of the day</Way>
      <Way to={`${p.base}/book`} sort="quiet">The book</Way>
    </nav>
  );
}
