// What stands around every screen: the way back, its name, what is on this phone
// only, a stop, and at the foot what was saved last with its way back.
import type { ComponentChildren } from "preact";
import type { Picture } from "../../shared/picture.ts";
import { address } from "../route.ts";
import { useApp } from "./app.tsx";
import { Act, Way } from "./act.tsx";
import "./frame.css";

interface Props {
  title: string;
  back?: string; // where the way back leads
  picture?: Picture | undefined; // of the job, for its stops
  children: ComponentChildren;
}

export function Frame(p: Props) {
  return (
    <>
      <header class="frame">
        {p.back === undefined ? <span /> : <a class="back" href={p.back} aria-label="Back">←</a>}
        <h1>{p.title}</h1>
        <Held />
      </header>
      {p.picture ? <Stops of={p.picture} /> : null}
      <div class="screen">{p.children}</div>
      <Foot />
    </>
  );
}

/** What is on this phone only, always in sight. */
function Held() {
  const app = useApp();
  const { records, shots, apart, refused } = app.held;
  const trouble = app.standing.trouble?.trouble === "unpaired" ? "pair again" : app.standing.broken || app.broken ? "look here" : "";
  const parts = [records ? count(records, "record") : "", shots ? count(shots, "photo") : ""].filter(Boolean);
  const words = [
    parts.length ? `${parts.join(", ")} on this phone` : "all sent", ...(apart + refused > 0 ? [`${apart + refused} not taken`] : []), ...(trouble ? [trouble] : []),
  ].join(", ");
  return (
    <a class={`held ${apart + refused > 0 || trouble ? "apart" : ""}`} href={address(["sending"])} aria-label={words}>
      <span role="status">{words}</span>
    </a>
  );
}

function count(n: number, word: string): string {
  return `${n} ${word}${n === 1 ? "" : "s"}`;
}

/** A stop stands over whatever is next, and blocks no recording. */
function Stops(p: { of: Picture }) {
  const app = useApp();
  const stops = p.of.stops ?? [];
  if (stops.length === 0) return null;
  return (
    <section class="stops" role="alert">
      {stops.map((s) => (
        <a key={s.id} href={address(["job", p.of.job, "do", "go-ahead"], { stop: s.id })}>
          <b>Stop{s.supports?.length ? ` at ${s.supports.join(", ")}` : ""}: {s.text}.</b> Go-ahead by {s.name ?? "whoever was named"}, or by the office with a reason.
        </a>
      ))}
      <p>{sinceHeard(app.standing.heardAt)} Recording goes on, and is flagged.</p>
    </section>
  );
}

/** When this phone last heard from the office: a go-ahead may be there already. */
export function sinceHeard(at: number | undefined): string {
  if (at === undefined) return "This phone has not heard from the office since it was started.";
  const minutes = Math.floor((Date.now() - at) / 60_000);
  if (minutes < 1) return "This phone heard from the office just now.";
  return `This phone last heard from the office ${minutes < 120 ? `${minutes} min` : `${Math.floor(minutes / 60)} h`} ago.`;
}

function Foot() {
  const app = useApp();
  const n = app.notice;
  return (
    <footer class={`foot ${n?.tone ?? ""}`}>
      <p role={n?.tone === "wrong" ? "alert" : "status"}>{n?.text ?? ""}</p>
      {n?.undo ? <Act sort="quiet" do={() => app.undo(n.undo!)}>Undo</Act> : null}
      {n?.tone === "wrong" ? <Act sort="quiet" do={() => app.say(undefined)}>Close</Act> : null}
    </footer>
  );
}

/** An empty screen: what is not there, and how it comes to be. */
export function Empty(p: { children: ComponentChildren; way?: { to: string; label: string } }) {
  return (
    <div class="empty">
      <p>{p.children}</p>
      {p.way ? <Way to={p.way.to} sort="main">{p.way.label}</Way> : null}
    </div>
  );
}
