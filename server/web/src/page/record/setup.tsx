// Setting up the laser, with a reading on each datum that can be seen; and the
// closing readings before it moves.
import { useState } from "preact/hooks";
import type { Picture, Support } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { bodyFor, type DatumReading } from "./bodies.ts";
import { liveSetup, type Recording } from "./recording.ts";

type Method = "receiver" | "eye" | "water-level";

const methods: { value: Method; label: string }[] = [
  { value: "receiver", label: "Receiver" }, { value: "eye", label: "Eye on tape" }, { value: "water-level", label: "Water level" },
];

export function SetUp(p: Recording) {
  const app = useApp();
  const { book, picture } = p;
  const known = knownLasers(picture, (app.office?.lasers ?? []).filter((l) => !l.gone).map((l) => l.name));
  const last = picture.setups?.find((s) => s.by === app.who?.id)?.instrument ?? picture.setups?.[0]?.instrument;
  const [instrument, setInstrument] = useState(last ?? known[0] ?? "");
  const [method, setMethod] = useState<Method>("receiver");
  const [beside, setBeside] = useState<Support>();
  const laser = app.office?.lasers.find((l) => l.name === instrument);
  const check = picture.instruments?.find((i) => i.name === instrument);
  const save = async (datums: DatumReading[]) => {
    const body = bodyFor("setup", { instrument, method: method === "receiver" ? undefined : method, sd_mm_per_m: laser?.sd_mm_per_m || undefined, stand: beside && [beside.x, beside.y], datums });
    if (await app.record(book.job, "setup", body)) go(address(["job", book.job]), true);
  };
  return (
    <Frame title="Set up the laser" back={address(["job", book.job])} picture={picture}>
      <WhichLaser known={known} chosen={instrument} choose={setInstrument} />
      {check?.check_due || laser?.due ? <p class="danger">{laser?.due ?? check?.check}</p> : null}
      <Words small label="Read with" of={methods} chosen={[method]} choose={setMethod} />
      <Stand of={picture} beside={beside} put={setBeside} />
      <Datums of={picture} label="Save the set-up" disabled={instrument.trim() === ""} save={save} />
    </Frame>
  );
}

/** One that is known is touched; the name of another is typed where it is wanted, since
 *  the keypad needs the room. */
function WhichLaser(p: { known: string[]; chosen: string; choose: (name: string) => void }) {
  const [another, type] = useState(p.known.length === 0);
  const choices = [...p.known.map((n) => ({ value: n, label: n })), { value: "", label: "another" }];
  const choose = (name: string) => {
    type(name === "");
    p.choose(name);
  };
  return (
    <>
      {p.known.length > 0 ? <Words small label="Which laser" of={choices} chosen={[another ? "" : p.chosen]} choose={choose} /> : null}
      {another ? (
        <label class="field">
          Which laser
          <input value={p.chosen} maxLength={100} onInput={(e) => p.choose(e.currentTarget.value)} />
        </label>
      ) : null}
    </>
  );
}

/** Beside which support the laser stands, from those who say: what its last check found
 *  for each metre is then taken off by the distance. */
function Stand(p: { of: Picture; beside: Support | undefined; put: (s: Support | undefined) => void }) {
  const { words } = useApp();
  const [open, setOpen] = useState(false);
  if (p.of.supports.length === 0) return null;
  if (!open) return <Act sort="quiet" do={() => setOpen(true)}>{p.beside ? `It stands beside ${p.beside.id}` : "Say where it stands"}</Act>;
  const choose = (id: string) => {
    p.put(id === p.beside?.id ? undefined : p.of.supports.find((s) => s.id === id));
    setOpen(false);
  };
  return (
    <>
      <h2>It stands beside this {words.support}</h2>
      <Words small label="It stands beside" of={p.of.supports.map((s) => ({ value: s.id, label: s.id }))} chosen={p.beside ? [p.beside.id] : []} choose={choose} />
    </>
  );
}

function knownLasers(p: Picture, firm: string[]): string[] {
  return [...new Set([...(p.instruments ?? []).map((i) => i.name), ...firm])];
}

export function CloseSetup(p: Recording) {
  const app = useApp();
  const { book, picture } = p;
  const setup = liveSetup(picture, app.who?.id);
  const floor = address(["job", book.job]);
  if (!setup) return <Frame title="Close the set-up" back={floor}><Empty>No set-up is open.</Empty></Frame>;
  const save = async (datums: DatumReading[]) => {
    if (await app.record(book.job, "setup-closed", bodyFor("setup-closed", { setup: setup.id, datums }))) go(floor, true);
  };
  return (
    <Frame title="Close the set-up" back={floor} picture={picture}>
      <p>Read a {app.words.datum} again before the laser moves: it tells whether anything moved since.</p>
      <Datums of={picture} label="Close it" disabled={false} save={save} />
    </Frame>
  );
}

/** The staff on the datums: one is chosen, the keypad types into it. */
function Datums(p: { of: Picture; label: string; disabled: boolean; save: (datums: DatumReading[]) => unknown }) {
  const app = useApp();
  const datums = p.of.datums ?? [];
  const fresh = () => nothing(app.unit);
  const [typed, setTyped] = useState<Record<string, Typed>>({});
  const [at, setAt] = useState(datums[0]?.id ?? "");
  if (datums.length === 0) return <Empty>The plan has no {app.words.datum}: the office adds at least two, one off the building.</Empty>;
  const read = datums.flatMap((d) => {
    const t = typed[d.id];
    const staff = t && lengthOf(t);
    return staff ? [{ datum: d.id, staff }] : [];
  });
  const save = () => read.length > 0 && !p.disabled && p.save(read);
  const now = typed[at] ?? fresh();
  return (
    <>
      <div class="run" role="group" aria-label={app.words.datum}>
        {datums.map((d) => {
          const l = typed[d.id] && lengthOf(typed[d.id]!);
          return (
            <button key={d.id} type="button" class="act quiet" aria-current={d.id === at ? "step" : undefined} onClick={() => setAt(d.id)}>
              {d.id}
              <small>{l ? `${l.value} ${l.unit}` : d.stands_on ?? "not read"}</small>
            </button>
          );
        })}
      </div>
      <Entry of={now} name={at} label={`${app.words.staff} on ${at}`} />
      <Keypad of={now} typed={(t) => setTyped({ ...typed, [at]: t })} sign done={save}>
        <Act sort="main" disabled={read.length === 0 || p.disabled} do={save}>{p.label}</Act>
      </Keypad>
      {read.length === 1 && datums.length > 1 ? <p class="note">One {app.words.datum} shows no error of its own. Read a second one if it can be seen.</p> : null}
    </>
  );
}
