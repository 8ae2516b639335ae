// How the rooms are before the first lift, one after the other: what has cracked
// already, so that nobody argues later.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { address, go } from "../route.ts";
import { Act, Way, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor, conditionOf, parts, type Part, type Said } from "./bodies.ts";
import type { Recording } from "./recording.ts";

interface Typed {
  room: string;
  said: Said;
  words: string;
  present: string;
}

export function Condition(p: Recording) {
  const app = useApp();
  const rooms = (p.picture.plan.rooms ?? []).map((r) => r.name);
  const recorded = p.picture.lists.conditions ?? [];
  const isDone = (room: string) => recorded.some((c) => c.name === room || c.text.startsWith(room));
  const [back, goneOn] = useState(() => app.cameBack<Typed>());
  const [room, setRoom] = useState(back?.room ?? p.query.get("room") ?? rooms.find((r) => !isDone(r)) ?? "");
  const choose = (r: string) => {
    goneOn(undefined);
    setRoom(r);
  };
  const next = rooms.slice(rooms.indexOf(room) + 1).concat(rooms).find((r) => r !== room && !isDone(r));
  return (
    <Frame title={room ? `Condition: ${room}` : "Condition of a room"} back={address(["job", p.book.job])} picture={p.picture}>
      {p.picture.supports.some((s) => s.on_jack) ? <p class="danger">Something is on a jack already: this is no longer how the rooms were found.</p> : null}
      <Words small label="Room" of={rooms.map((r) => ({ value: r, label: isDone(r) ? `${r}, recorded` : r }))} chosen={[room]} choose={choose} />
      <OneRoom key={rooms.length > 0 ? room : ""} at={p} room={room} setRoom={choose} back={back} next={next} done={rooms.filter(isDone).length} of={rooms.length} />
    </Frame>
  );
}

function OneRoom(p: { at: Recording; room: string; setRoom: (r: string) => void; back: Typed | undefined; next: string | undefined; done: number; of: number }) {
  const app = useApp();
  const [said, setSaid] = useState<Said>(p.back?.said ?? {});
  const [words, setWords] = useState(p.back?.words ?? "");
  const [present, setPresent] = useState(p.back?.present ?? "");
  const [shots, setShots] = useState<Taken[]>([]);
  const flip = (part: Part, word: string) => {
    const now = said[part] ?? [];
    setSaid({ ...said, [part]: now.includes(word) ? now.filter((w) => w !== word) : [...now, word] });
  };
  const save = async (next: string | undefined) => {
    const body = bodyFor("condition", conditionOf(p.room, said, words, present));
    if (!(await app.record(p.at.book.job, "condition", body, shots))) return;
    if (next) p.setRoom(next);
    else go(address(["job", p.at.book.job]), true);
  };
  return (
    <>
      {p.of > 0 ? <p class="note">{p.done} of {p.of} rooms recorded.</p> : <label class="field">Room<input value={p.room} onInput={(e) => p.setRoom(e.currentTarget.value)} /></label>}
      {(Object.keys(parts) as Part[]).map((part) => (
        <section key={part}>
          <h2>{part[0]!.toUpperCase() + part.slice(1)}</h2>
          <Words small label={part} of={parts[part].map((w) => ({ value: w as string, label: w }))} chosen={said[part] ?? []} choose={(w) => flip(part, w)} />
        </section>
      ))}
      <label class="field">Other words<textarea rows={2} maxLength={2000} value={words} onInput={(e) => setWords(e.currentTarget.value)} /></label>
      <label class="field">Who was there<input maxLength={200} value={present} onInput={(e) => setPresent(e.currentTarget.value)} /></label>
      <Camera shots={shots} change={setShots} subject={p.room} stage="before" typed={{ room: p.room, said, words, present } satisfies Typed} />
      {p.next ? <Act sort="main" disabled={!p.room.trim()} do={() => save(p.next)}>Save, then {p.next}</Act> : null}
      <Act sort={p.next ? undefined : "main"} disabled={!p.room.trim()} do={() => save(undefined)}>Save</Act>
      <Way sort="quiet" to={address(["job", p.at.book.job])}>Back to the floor</Way>
    </>
  );
}
