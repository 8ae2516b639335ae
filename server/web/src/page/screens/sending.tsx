// What is on this phone only: what waits, what the office would not take, and how to
// save it where nothing else helps.
import type { Own, Shot } from "../../shared/kept.ts";
import { address } from "../route.ts";
import { saveToFile } from "../unsent.ts";
import { Act, Way } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Empty, Frame, sinceHeard } from "../ui/frame.tsx";
import { kindWord } from "../words.ts";

export function Sending() {
  const app = useApp();
  const { value } = useAnswer(async () => {
    const own = await app.store.unsettled();
    const shots = await app.store.shotsLeft();
    return { own, shots };
  }, [app.held]);
  const { trouble, broken, busy } = app.standing;
  const nothing = value && value.own.length + value.shots.length === 0;
  return (
    <Frame title="On this phone only" back="#/">
      <p>{sinceHeard(app.standing.heardAt)}{busy ? " Sending now." : ""}</p>
      {broken || app.broken ? <p class="danger" role="alert">The store of this phone does not work: {broken ?? app.broken}. Close the app and open it again.</p> : null}
      {trouble ? <p role="status">{trouble.message}{trouble.trouble === "unpaired" ? " Everything stays here until this phone is paired again." : " It is tried again by itself."}</p> : null}
      {trouble?.trouble === "unpaired" ? <Way sort="main" to={address(["pair"])}>Pair again</Way> : null}
      <Act sort="main" do={() => app.sync.kick()}>Send now</Act>
      {nothing ? <Empty>Everything that was recorded here is with the office.</Empty> : null}
      <ul class="rows">
        {value?.own.map((o) => <Record key={o.counter} of={o} />)}
        {value?.shots.map((s) => <Photo key={s.id} of={s} />)}
      </ul>
      {nothing === false ? <Act sort="quiet" do={() => saveToFile(app.store)}>Save all of it to a file</Act> : null}
    </Frame>
  );
}

function Record(p: { of: Own }) {
  const app = useApp();
  const o = p.of;
  return (
    <li>
      <p><b>{o.counter}: {kindWord(o.kind)}</b> <span class="note">{app.job(o.job)?.name}, {timeOf(o.envelope.at)}</span></p>
      {o.state === "apart" ? (
        <>
          <p class="danger">The office has it apart and it does not count: {o.reason}</p>
          <Act sort="quiet" do={async () => {
            await app.store.again(o.counter);
            app.sync.kick();
          }}>Send it again</Act>
        </>
      ) : <p class="note">{o.sealed === undefined ? "its photos are being made ready" : "waits"}</p>}
    </li>
  );
}

const shotWords: Record<Shot["state"], string> = {
  raw: "is being made ready", ready: "waits", sent: "sent; kept here until the office has it safely", safe: "safe", refused: "not taken",
};

function Photo(p: { of: Shot }) {
  const s = p.of;
  return (
    <li>
      <p><b>{s.type === "sound" ? "Sound" : "Photo"} of record {s.counter}</b> <span class="note">{Math.max(1, Math.round(s.bytes / 1024))} KB</span></p>
      <p class={s.state === "refused" ? "danger" : "note"}>{shotWords[s.state]}{s.reason ? `: ${s.reason}` : ""}</p>
    </li>
  );
}

function timeOf(at: string): string {
  return new Date(at).toLocaleString(undefined, { weekday: "short", hour: "2-digit", minute: "2-digit" });
}
