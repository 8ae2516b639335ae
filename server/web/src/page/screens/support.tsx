// One support, in section, with its figure in the gap and the next step on the
// drawing.
import { drawSection } from "../drawings.ts";
import { bodyFor } from "../record/bodies.ts";
import { cautionOf } from "../record/forms.ts";
import type { Recording } from "../record/recording.ts";
import { lastReadingOf } from "../record/rests.ts";
import { address } from "../route.ts";
import { say } from "../say.ts";
import type { Picture, Support } from "../../shared/picture.ts";
import { signed, show } from "../../shared/length.ts";
import { Hold, Way } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Drawing } from "../ui/drawing.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { sentence, verb } from "../words.ts";

export function SupportScreen(p: Recording & { id: string }) {
  const app = useApp();
  const s = p.picture.supports.find((x) => x.id === p.id);
  const drawn = useAnswer(() => drawSection(app, p.book, p.id), [p.book.version, p.id]);
  const floor = address(["job", p.book.job]);
  if (!s) return <Frame title={p.id} back={floor}><Empty way={{ to: floor, label: "To the floor" }}>The plan has no {app.words.support} of that name.</Empty></Frame>;
  return (
    <Frame title={`${s.id}: ${say(s.state)}`} back={floor} picture={p.picture}>
      <Drawing svg={drawn.value?.svg} failed={drawn.failed} class="section">
        {drawn.value ? besides(s).map((b) => <div key={b.side} class={`beside ${b.side}`}><Way to={address(["job", p.book.job, "do", b.kind], { support: s.id })}>{b.word}</Way></div>) : null}
      </Drawing>
      <div class="on-drawing"><NextStep of={p} support={s} /></div>
      <p><b>{s.next}.</b>{" "}{sentence(s.to_go)}{s.stop_figure && s.next_kind !== "jacking" ? <StopFigure of={s} /> : null}</p>
      {s.on_jack ? <p class="note">{cautionOf("jack-down")}</p> : null}
      {s.doubt ? <p class="danger" role="alert">{s.doubt}</p> : null}
      {s.missing?.length && s.signature === undefined ? <p class="note">Before it can be signed: {s.missing.join("; ")}.</p> : null}
      <Others of={p} support={s} />
      <Neighbours of={p} support={s} />
    </Frame>
  );
}

interface Beside {
  side: "left" | "right";
  kind: string;
  word: string;
}

/** What is pressed on the drawing itself, beside the post: never where a jack, blocking
 *  or the line of a stop is drawn. */
function besides(s: Support): Beside[] {
  const list: Beside[] = [];
  if (!s.on_jack && !s.stopped) list.push({ side: "left", ...(s.next_kind === "reading" ? { kind: "photo", word: "Photo" } : { kind: "reading", word: "Read" }) });
  if (!s.on_blocking && s.next_kind !== "finding") list.push({ side: "right", kind: "finding", word: "Finding" });
  return list;
}

/** What the staff must read after the move. */
function StopFigure(p: { of: Support }) {
  const app = useApp();
  const at = p.of.stop_figure!;
  return <> Stop when the {app.words.staff} reads <b>{show(at.staff_mm, app.unit)}</b>, {signed(at.by_mm, app.unit)} from now.</>;
}

/** The one step that is next, where this phone can record it. */
export function NextStep(p: { of: Recording; support: Support }) {
  const app = useApp();
  const { support: s } = p;
  const job = p.of.book.job;
  const kind = s.next_kind;
  if (!kind || kind === "aim") return <NextSupport of={p.of} after={s.id} />;
  if (kind === "jack-down") return <Hold sort="main" do={() => app.record(job, "jack-down", bodyFor("jack-down", { support: s.id }))}>Jack down</Hold>;
  if (kind === "signed") {
    return <Hold sort="main" do={async () => app.record(job, "signed", bodyFor("signed", { support: s.id, ...(await lastReadingOf(p.of.book, s.id)) }))}>Sign</Hold>;
  }
  const label = kind === "support-work" ? stepWord(s.next_step) : verb(kind);
  return <Way sort="main" to={address(["job", job, "do", kind], { support: s.id, step: s.next_step, sort: s.next_sort, ...alone(p.of.picture, s.id, kind) })}>{label}</Way>;
}

/** What is taken away or freed here, where there is only one that it can be. */
function alone(p: Picture, support: string, kind: string): Record<string, string> {
  const here = (list: { name: string | undefined; supports?: string[] | undefined }[]) => {
    const [one, ...more] = list.filter((x) => x.supports?.includes(support));
    return more.length === 0 ? one?.name : undefined;
  };
  const place = kind === "blocking-removed" ? here((p.blockings ?? []).map((b) => ({ name: b.place, supports: b.supports }))) : undefined;
  const tie = kind === "tie-freed" ? here((p.lists.ties ?? []).filter((t) => t.open).map((t) => ({ name: t.name, supports: t.supports }))) : undefined;
  return { ...(place ? { place } : {}), ...(tie ? { tie } : {}) };
}

/** Where nothing is to be done here now: the post where something is. */
function NextSupport(p: { of: Recording; after: string }) {
  const next = nextSupport(p.of.picture, p.after);
  if (!next) return null;
  return <Way sort="main" to={address(["job", p.of.book.job, "support", next.id])}>Next: {next.id}. {next.next}</Way>;
}

/** The first of the round under way, else the first on the plan after this one. */
function nextSupport(p: Picture, after: string): Support | undefined {
  const i = p.supports.findIndex((s) => s.id === after);
  const round = (p.rounds?.moves ?? []).map((m) => m.support);
  const inOrder = [...p.supports.slice(i + 1), ...p.supports.slice(0, i)].filter((s) => s.next_kind && s.next_kind !== "aim");
  return inOrder.find((s) => s.on_jack) ?? inOrder.find((s) => round.includes(s.id)) ?? inOrder[0];
}

const steps: Record<string, string> = {
  "taken-out": "Take it out", "dug": "Dug", "seen-by-inspector": "Seen by the inspector", "poured": "Poured", "carries-from": "Carries from",
  "set": "Set the new one", "capped": "Capped", "fixed": "Fix", "old-packing-out": "Old packing out",
};

function stepWord(step: string | undefined): string {
  return say(steps[step ?? ""] ?? "Done");
}

/** What else can be done here. */
function Others(p: { of: Recording; support: Support }) {
  const { support: s } = p;
  const drawn = besides(s).map((b) => b.kind);
  const to = (kind: string, query: Record<string, string | undefined> = {}) => address(["job", p.of.book.job, "do", kind], { support: s.id, ...query });
  const ways: [string, string, boolean][] = [
    [to("reading"), "Read", s.next_kind !== "reading" && !drawn.includes("reading")],
    [to("finding"), "Finding", s.next_kind !== "finding" && !drawn.includes("finding")],
    [to("photo"), "Photo", !drawn.includes("photo")],
    [to("jacking"), "Jack", s.next_kind !== "jacking"],
    [to("packing", { sort: "final" }), "Pack", s.next_kind !== "packing"],
    [to("support-work", { step: "fixed" }), "Fix", s.next_step !== "fixed" && !s.fixed],
    [to("support-work"), "Other work", true],
    [to("found"), "Found here", true],
    [to("signed"), say("The blocking stays: sign"), s.next_kind === "blocking-removed"],
    [to("stop"), "Stop", true],
  ];
  const app = useApp();
  const down = s.on_jack && s.next_kind !== "jack-down";
  return (
    <div class="acts">
      {down ? <Hold do={() => app.record(p.of.book.job, "jack-down", bodyFor("jack-down", { support: s.id }))}>Jack down</Hold> : null}
      {ways.filter(([, , shown]) => shown).map(([at, word]) => <Way key={word} to={at} sort={word === "Stop" ? "stop" : undefined}>{word}</Way>)}
    </div>
  );
}

/** The way along the bearer. */
function Neighbours(p: { of: Recording; support: Support }) {
  const along = p.of.picture.plan.bearers?.find((b) => b.id === p.support.bearer)?.supports ?? [];
  const i = along.indexOf(p.support.id);
  const to = (id: string | undefined, arrow: string) => id === undefined ? null : <Way sort="quiet" to={address(["job", p.of.book.job, "support", id])}>{arrow.replace("%", id)}</Way>;
  if (i < 0) return null;
  return <div class="acts">{to(along[i - 1], "← %")}{to(along[i + 1], "% →")}</div>;
}
